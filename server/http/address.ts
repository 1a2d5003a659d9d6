/** What a request's address holds: path parameters and the query. */
import { isId } from './ids.ts'
import type { RequestContext } from './request-context.ts'

/** A text of the address; empty when it is not there. */
export function parameter(ctx: RequestContext, name: string): string {
  const params = ctx.request.params as Readonly<Record<string, unknown>>
  const value = params[name]
  return typeof value === 'string' ? value : ''
}

/** One opaque id of the address; undefined when it cannot be one. */
export function idParam(ctx: RequestContext, name: string): string | undefined {
  const params = ctx.request.params as Readonly<Record<string, unknown>>
  const value = params[name]
  return typeof value === 'string' && isId(value) ? value : undefined
}

/** A text of the address after "?": empty when it is not there, or is there twice. */
export function queryText(ctx: RequestContext, name: string): string {
  const value = (ctx.request.query as Readonly<Record<string, unknown>>)[name]
  return typeof value === 'string' ? value : ''
}
