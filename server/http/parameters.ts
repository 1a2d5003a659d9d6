/**
 * What an address holds, declared once for each route by zod: its path parameters and its query. A path parameter that
 * does not parse names nothing that is there: 404. A query never fails: a text that is missing or sent twice is empty.
 */
import { z } from 'zod'
import { isId } from './ids.ts'
import type { RequestContext } from './request-context.ts'

/** An opaque id (newId). */
export const id = z.string().refine(isId)
/** Any text. What it names is found, or not found, by the handler. */
export const text = z.string()
/** A version's number, from 1 to 99,999. */
export const versionNumber = z
  .string()
  .regex(/^[1-9]\d{0,4}$/)
  .transform(Number)
/** A text of the query; empty when it is missing or sent twice. */
export const queryText = z.string().catch('')

export const NO_NAMES = z.object({})

export const STAY_ADDRESS = z.object({ stayId: id })
export const READING_ADDRESS = z.object({ id })
export const DOSE_ADDRESS = z.object({ id })
export const LOW_ADDRESS = z.object({ lowId: id })
/** Check keys have three forms, which parseCheckKey (shared/check/plan.ts) takes apart. */
export const CHECK_ADDRESS = z.object({ key: text })
export const ORDER_ADDRESS = z.object({ orderId: id })
export const ORDER_VERSION_ADDRESS = z.object({ orderId: id, version: versionNumber })
export const METER_ADDRESS = z.object({ meterId: id })
export const WARD_ADDRESS = z.object({ wardId: id })

/** From and to of a period, as the page's fields send them. */
export const PERIOD_QUERY = z.object({ from: queryText, to: queryText })
export const WARD_PERIOD_QUERY = z.object({ ward: queryText, from: queryText, to: queryText })

export type StayRequest = RequestContext<z.output<typeof STAY_ADDRESS>>
export type ReadingRequest = RequestContext<z.output<typeof READING_ADDRESS>>
export type DoseRequest = RequestContext<z.output<typeof DOSE_ADDRESS>>
export type LowRequest = RequestContext<z.output<typeof LOW_ADDRESS>>
export type CheckRequest = RequestContext<z.output<typeof CHECK_ADDRESS>>
export type OrderRequest = RequestContext<z.output<typeof ORDER_ADDRESS>>
export type OrderVersionRequest = RequestContext<z.output<typeof ORDER_VERSION_ADDRESS>>
export type MeterRequest = RequestContext<z.output<typeof METER_ADDRESS>>
export type WardRequest = RequestContext<z.output<typeof WARD_ADDRESS>>

/** The names of an address's path parameters. */
type NamesIn<Url extends string> = Url extends `${string}:${infer Name}/${infer Rest}`
  ? Name | NamesIn<Rest>
  : Url extends `${string}:${infer Name}`
    ? Name
    : never

/** What a route's schema gives its handler: no names where it declares none. */
export type Declared<S extends z.ZodObject> = { readonly [Name in keyof S['shape']]: z.output<S['shape'][Name]> }

/** Makes a route whose address and `params` do not name the same parameters fail to compile. */
export type SameNames<Url extends string, S extends z.ZodObject> = [keyof S['shape'], NamesIn<Url>] extends [
  NamesIn<Url>,
  keyof S['shape'],
]
  ? unknown
  : { readonly params: z.ZodObject<Record<NamesIn<Url>, z.ZodType>> & 'names the parameters of the address' }
