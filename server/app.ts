/** Builds the application out of what it is given: the steps in their order, every area's routes, what answers a fault. */
import cookie from '@fastify/cookie'
import formbody from '@fastify/formbody'
import { fastify, LogController, type FastifyError, type FastifyInstance, type FastifyReply, type FastifyRequest } from 'fastify'
import { isBusy } from './http/faults.ts'
import { serveAssets } from './http/asset-route.ts'
import { serveHealth } from './http/health.ts'
import { makeHouse } from './http/house.ts'
import { isFromHere } from './http/origin.ts'
import { messageAnswer, prepare } from './http/page.ts'
import { guardTable, openVisit, type Server } from './http/route.ts'
import { securityHeaders } from './http/security-headers.ts'
import type { Services } from './http/visit.ts'
import type { PageSentence } from '../views/words/http.ts'
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
import { registerSignin } from './signin/routes.ts'
import { registerStay } from './stay/routes.ts'

/** No form of the service comes near this many bytes. */
const BODY_LIMIT = 64 * 1024
/** Longest check key: stay, date and slot. */
const PARAMETER_LIMIT = 120

/** The application, ready to listen, with its route table. Log lines go to the standard output, or to `logTo`. */
export async function buildServer(services: Services, logTo?: { readonly write: (line: string) => void }): Promise<Server> {
  const app = fastify({
    logger: { level: services.config.logLevel, ...(logTo === undefined ? {} : { stream: logTo }) },
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
  })
  const house = makeHouse(services, (error) => { app.log.error(error, 'the access log could not be written; it is tried again') })
  const server: Server = { app, services, house }

  const headers = await securityHeaders(services)
  app.addHook('onRequest', (_request, reply, done) => {
    reply.headers(headers)
    done()
  })
  // JSON and plain text have no business here: pages send forms
  app.removeAllContentTypeParsers()
  await app.register(formbody, { bodyLimit: BODY_LIMIT })
  await app.register(cookie)
  app.addHook('onRequest', async (request, reply) => {
    if (request.method !== 'GET' && request.method !== 'HEAD' && !isFromHere(request)) {
      return say(server, request, reply, 403, 'other-site')
    }
    return undefined
  })
  logAnswers(app)
  app.setNotFoundHandler((request, reply) => say(server, request, reply, 404, 'not-found'))
  app.setErrorHandler((error: FastifyError, request, reply) => answerFault(server, error, request, reply))
  app.addHook('onClose', async () => { house.accessLog.close() })

  guardTable(server)
  await serveAssets(server)
  serveHealth(server)
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
  registerMeters(server)
  registerWards(server)
  registerPolicy(server)
  return server
}

/** The application alone, as a listener or a test drives it. */
export async function buildApp(services: Services): Promise<FastifyInstance> {
  const { app } = await buildServer(services)
  return app
}

/** One line for each answer: route pattern and never the address, which holds ids; no names, no fields. */
function logAnswers(app: FastifyInstance): void {
  app.addHook('onResponse', async (request, reply) => {
    request.log.info({ method: request.method, route: request.routeOptions.url ?? 'none', status: reply.statusCode, ms: Math.round(reply.elapsedTime * 10) / 10 }, 'answered')
  })
}

async function say(server: Server, request: FastifyRequest, reply: FastifyReply, status: number, reason: PageSentence): Promise<FastifyReply> {
  const answer = messageAnswer(openVisit(server, request, reply), status, reason)
  return reply.send(await prepare(reply, request, answer))
}

/** Faults before a handler (too large, not a form) are the sender's; all others are ours: logged in full, told in little. */
async function answerFault(server: Server, error: FastifyError, request: FastifyRequest, reply: FastifyReply): Promise<FastifyReply> {
  const where = { method: request.method, route: request.routeOptions.url ?? 'none' }
  const status = error.statusCode ?? 500
  if (status >= 400 && status < 500) {
    request.log.info({ ...where, code: error.code }, 'not accepted')
    return say(server, request, reply, status, status === 413 ? 'too-large' : status === 415 ? 'not-a-form' : 'bad-request')
  }
  request.log.error({ ...where, err: error }, 'fault')
  try {
    return await (isBusy(error) ? say(server, request, reply, 503, 'busy') : say(server, request, reply, 500, 'fault'))
  } catch (second) {
    // the page itself cannot be made, as when the database is gone: plain words still go out
    request.log.error({ ...where, err: second }, 'fault while telling of a fault')
    return reply.code(500).type('text/plain; charset=utf-8').send(`The service had a fault. Nothing was saved. Number of this answer: ${request.id}`)
  }
}
