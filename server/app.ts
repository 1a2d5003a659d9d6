/** Builds the application out of what it is given: the steps in their order, every area's routes, what answers a fault. */
import cookie from '@fastify/cookie'
import formbody from '@fastify/formbody'
import {
  fastify,
  LogController,
  type FastifyError,
  type FastifyInstance,
  type FastifyReply,
  type FastifyRequest,
} from 'fastify'
import { storeFailureOf } from './http/store-failures.ts'
import { parseForm } from './http/fields.ts'
import { serveAssets } from './http/asset-route.ts'
import { serveHealth } from './http/health.ts'
import { makeAppContext } from './http/app-context.ts'
import { answerNoHttp, logResponses, loggerOptions, patternOf, type LogTarget } from './http/log.ts'
import { serveMetrics } from './http/metrics-route.ts'
import { isFromHere } from './http/origin.ts'
import { messageResponse, prepare } from './http/page.ts'
import { requireRouteRoles, publicRequestContext, type Server } from './http/route.ts'
import { securityHeaders } from './http/security-headers.ts'
import type { Services } from './http/services.ts'
import type { PageSentence } from '../views/words/http.ts'
import { registerAccess } from './access/routes.ts'
import { registerAudit } from './audit/routes.ts'
import { registerBoard } from './board/routes.ts'
import { registerCheck } from './check/routes.ts'
import { registerDemo } from './demo/routes.ts'
import { registerDose } from './dose/routes.ts'
import { registerHandover } from './handover/routes.ts'
import { registerLow } from './low/routes.ts'
import { registerOrder } from './order/routes.ts'
import { registerPaper } from './paper/routes.ts'
import { registerReading } from './reading/routes.ts'
import { registerRound } from './round/routes.ts'
import { registerHub } from './setup/hub.ts'
import { registerPeople } from './setup/people.ts'
import { registerMeters } from './setup/meters.ts'
import { registerPolicy } from './setup/policy.ts'
import { registerWards } from './setup/wards.ts'
import { registerService } from './service/routes.ts'
import { registerSignin } from './signin/routes.ts'
import { registerStay } from './stay/routes.ts'

/** No form of the service comes near this many bytes. */
const BODY_LIMIT = 64 * 1024
/** Longest check key: stay, date and slot. */
const PARAMETER_LIMIT = 120

/** The application, ready to listen, with its route table. Log lines go to the standard output, or to `logTo`. */
export async function buildServer(services: Services, logTo?: LogTarget): Promise<Server> {
  const headers = await securityHeaders(services)
  const app: FastifyInstance = fastify({
    logger: loggerOptions(services.config.logLevel, logTo),
    // the address holds ids: answers are logged by their route's pattern instead (logAnswers)
    logController: new LogController({ disableRequestLogging: true }),
    genReqId: () => services.newId(),
    requestIdHeader: false,
    trustProxy: services.config.trustProxy === false ? false : [...services.config.trustProxy],
    bodyLimit: BODY_LIMIT,
    routerOptions: { maxParamLength: PARAMETER_LIMIT, caseSensitive: true },
    exposeHeadRoutes: false,
    // a tablet that walked out of reach must not hold a connection for ever
    connectionTimeout: 60_000,
    requestTimeout: 30_000,
    keepAliveTimeout: 65_000,
    forceCloseConnections: 'idle',
    return503OnClosing: true,
    clientErrorHandler: answerNoHttp(() => app.log, services.newId),
    // an address that cannot be decoded comes before every hook: plain words, without the address
    frameworkErrors: ({ code }, { id, method, log }, { raw }) => {
      log.info({ method, route: 'none', code, status: 400 }, 'not accepted')
      raw
        .writeHead(400, {
          ...headers,
          'x-request-id': id,
          'cache-control': 'no-store',
          'content-type': 'text/plain; charset=utf-8',
        })
        .end(`There is no such page. Number of this answer: ${id}`)
    },
  })
  const appContext = makeAppContext(services, {
    accessLogFailed: (error) => {
      app.log.error(error, 'the access log could not be written; it is tried again')
    },
    attemptsUsedUp: (address) => {
      app.log.warn({ address }, 'too many attempts with a badge and PIN or code')
    },
  })
  const server: Server = { app, services, appContext }

  app.addHook('onRequest', (request, reply, done) => {
    reply.headers(headers)
    // the number under which the log has this answer; one that the sender brings along is not taken over
    reply.header('x-request-id', request.id)
    done()
  })
  // JSON and plain text have no business here: pages send forms
  app.removeAllContentTypeParsers()
  await app.register(formbody, { bodyLimit: BODY_LIMIT, parser: parseForm })
  await app.register(cookie)
  app.addHook('onRequest', async (request, reply) => {
    if (request.method !== 'GET' && request.method !== 'HEAD' && !isFromHere(request)) {
      return say(server, request, reply, 403, 'other-site')
    }
    return undefined
  })
  logResponses(app)
  app.setNotFoundHandler((request, reply) => say(server, request, reply, 404, 'not-found'))
  app.setErrorHandler((error: FastifyError, request, reply) => answerFault(server, error, request, reply))
  app.addHook('onClose', async () => {
    appContext.accessLog.close()
  })

  requireRouteRoles(server)
  await serveAssets(server)
  serveHealth(server)
  serveMetrics(server)
  registerSignin(server)
  registerHub(server)
  registerPeople(server)
  registerDemo(server)
  registerRound(server)
  registerBoard(server)
  registerHandover(server)
  registerCheck(server)
  registerStay(server)
  registerReading(server)
  registerDose(server)
  registerOrder(server)
  registerPaper(server)
  registerLow(server)
  registerAudit(server)
  registerAccess(server)
  registerMeters(server)
  registerWards(server)
  registerPolicy(server)
  registerService(server)
  return server
}

/** The application alone, as a listener or a test drives it. */
export async function buildApp(services: Services): Promise<FastifyInstance> {
  const { app } = await buildServer(services)
  return app
}

async function say(
  server: Server,
  request: FastifyRequest,
  reply: FastifyReply,
  status: number,
  reason: PageSentence,
): Promise<FastifyReply> {
  const answer = messageResponse(publicRequestContext(server, request, reply), status, reason)
  return reply.send(await prepare(reply, request, answer))
}

/** Faults before a handler (too large, not a form) are the sender's; all others are ours: logged in full, told in little. */
async function answerFault(
  server: Server,
  error: FastifyError,
  request: FastifyRequest,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const where = { method: request.method, route: patternOf(request) }
  const status = error.statusCode ?? 500
  if (status >= 400 && status < 500) {
    request.log.info({ ...where, code: error.code }, 'not accepted')
    return say(
      server,
      request,
      reply,
      status,
      status === 413 ? 'too-large' : status === 415 ? 'not-a-form' : 'bad-request',
    )
  }
  request.log.error({ ...where, err: error }, 'fault')
  try {
    const failure = storeFailureOf(error)
    if (failure !== null) server.appContext.metrics?.storeFailed(failure)
    return await (failure === null
      ? say(server, request, reply, 500, 'fault')
      : say(server, request, reply, 503, failure))
  } catch (second) {
    // the page itself cannot be made, as when the database is gone: plain words still go out
    request.log.error({ ...where, err: second }, 'fault while telling of a fault')
    return reply
      .code(500)
      .type('text/plain; charset=utf-8')
      .send(`The service had a fault. Nothing was saved. Number of this answer: ${request.id}`)
  }
}
