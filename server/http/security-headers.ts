/** The security headers of every answer. */
import helmet from '@fastify/helmet'
import { fastify } from 'fastify'
import type { Services } from './services.ts'

/** Everything from this service and nothing else; no inline script or style; in nobody's frame. */
function settings(services: Services): Parameters<typeof helmet>[1] {
  return {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        imgSrc: ["'self'"],
        fontSrc: ["'self'"],
        connectSrc: ["'self'"],
        formAction: ["'self'"],
        baseUri: ["'none'"],
        frameAncestors: ["'none'"],
      },
    },
    // 'no-referrer' would make browsers send "Origin: null" with our own forms
    referrerPolicy: { policy: 'same-origin' },
    xFrameOptions: { action: 'deny' },
    strictTransportSecurity: services.config.secureCookies ? { maxAge: 31_536_000, includeSubDomains: false } : false,
  }
}

/**
 * What helmet sets for this configuration, asked once at the start: it is the same for every answer, and helmet would
 * put its policy together anew for each.
 */
export async function securityHeaders(services: Services): Promise<Readonly<Record<string, string>>> {
  const asked = fastify()
  await asked.register(helmet, settings(services))
  asked.get('/', async (_request, reply) => reply.raw.getHeaders())
  const headers = (await asked.inject('/')).json<Record<string, string>>()
  await asked.close()
  if (headers['content-security-policy'] === undefined) throw new Error('there are no security headers')
  return headers
}
