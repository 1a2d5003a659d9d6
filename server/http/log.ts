/**
 * What the log says: one JSON line for each answer, with its number, route pattern, status and time; and faults. No line
 * holds anything of a patient or person: not an address, not a field, and of an error only what cannot have come out of
 * either.
 */
import type { FastifyBaseLogger, FastifyInstance, FastifyRequest, FastifyServerOptions } from 'fastify'

type LoggerOptions = Exclude<FastifyServerOptions['logger'], boolean | undefined>
export type LogTarget = { readonly write: (line: string) => void }

/** What is told of an error. */
export type Fault = {
  readonly type: string
  readonly code?: string
  readonly message: string
  readonly stack: string
  readonly cause?: Fault
}

/** Errors nested deeper than this are not told of. */
const CAUSES_MOST = 3
const MESSAGE_MOST = 300

/**
 * Of an error: its class, code, where it was thrown, and its message without what may be data. A parser's message quotes
 * what it could not read, so it is left out whole; in others quoted text, ids and numbers are blanked.
 */
export function faultOf(error: unknown, depth = 0): Fault {
  if (!(error instanceof Error))
    return { type: typeof error, message: 'something that is no error was thrown', stack: '' }
  const quotes = error instanceof SyntaxError || error.name.includes('Zod')
  const frames = (error.stack ?? '')
    .split('\n')
    .filter((line) => /^\s+at /.test(line))
    .map((line) => line.trim())
  const code: unknown = 'code' in error ? error.code : undefined
  return {
    type: error.constructor.name,
    ...(typeof code === 'string' && /^[A-Z0-9_]{1,60}$/.test(code) ? { code } : {}),
    message: quotes ? 'what was read is not of the form that was expected' : blanked(error.message),
    stack: frames.join('\n'),
    ...(error.cause === undefined || depth >= CAUSES_MOST ? {} : { cause: faultOf(error.cause, depth + 1) }),
  }
}

function blanked(message: string): string {
  const [first = ''] = message.split('\n')
  return first
    .slice(0, MESSAGE_MOST)
    .replace(/["“„][^"”“]*["”“]?|[‘`][^’`]*[’`]?|(?<![a-z])'[^']*'?/gi, '…')
    .replace(/\b[a-z0-9]{16}\b/g, '…')
    .replace(/\w*\d\w*/g, '…')
}

/** Settings of the log. Lines go to the standard output, or to `logTo`. */
export function loggerOptions(level: string, logTo: LogTarget | undefined): LoggerOptions {
  return {
    level,
    serializers: { err: (error: unknown) => faultOf(error), req: ({ method }: FastifyRequest) => ({ method }) },
    hooks: {
      // given an error alone, the logger would take its message, unread, for the line's own
      logMethod(args, method) {
        const [first, text]: readonly unknown[] = args
        if (text === undefined && typeof first === 'object' && first !== null)
          Reflect.apply(method, this, [first instanceof Error ? { err: first } : first, 'fault'])
        else Reflect.apply(method, this, args)
      },
    },
    ...(logTo === undefined ? {} : { stream: logTo }),
  }
}

/** One line for each answer: route pattern and never the address, which holds ids; no names, no fields. */
export function logResponses(app: FastifyInstance): void {
  app.addHook('onResponse', async (request, reply) => {
    request.log.info(
      {
        method: request.method,
        route: patternOf(request),
        status: reply.statusCode,
        ms: Math.round(reply.elapsedTime * 10) / 10,
      },
      'answered',
    )
  })
}

/** The route's pattern; "none" where the address is nobody's. */
export function patternOf(request: FastifyRequest): string {
  return request.routeOptions.url ?? 'none'
}

/** Answers what is no HTTP, so that this answer has a number too. What was sent is neither shown nor logged. */
export function answerNoHttp(
  log: () => FastifyBaseLogger,
  newId: () => string,
): NonNullable<FastifyServerOptions['clientErrorHandler']> {
  return (error, socket) => {
    if (error.code === 'ECONNRESET' || socket.destroyed) return
    const number = newId()
    const status =
      error.code === 'ERR_HTTP_REQUEST_TIMEOUT'
        ? '408 Request Timeout'
        : error.code === 'HPE_HEADER_OVERFLOW'
          ? '431 Request Header Fields Too Large'
          : '400 Bad Request'
    log().info({ reqId: number, code: error.code, status: Number(status.slice(0, 3)) }, 'not HTTP')
    if (socket.writable)
      socket.write(
        `HTTP/1.1 ${status}\r\nx-request-id: ${number}\r\ncache-control: no-store\r\nconnection: close\r\ncontent-length: 0\r\n\r\n`,
      )
    socket.destroy()
  }
}
