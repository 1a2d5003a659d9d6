/** The only reader of the environment. All faults are told at once, a sentence each. */
import { z } from 'zod'
import { accept, type Outcome } from '../shared/outcome.ts'

export type Config = {
  /** SQLite file of the service; ":memory:" is for tests. */
  readonly databaseFile: string
  /** Where the ledger's head hash and count are written besides the database, so that a cut tail shows. */
  readonly headFile: string
  readonly host: string
  /** 0: any free port. */
  readonly port: number
  /** True: the session cookie is sent over HTTPS only, and browsers are told to stay on HTTPS. */
  readonly secureCookies: boolean
  /** True behind a reverse proxy of the hospital, whose X-Forwarded-For and -Proto are then believed. */
  readonly trustProxy: boolean
  readonly logLevel: 'silent' | 'error' | 'warn' | 'info'
  /** A login ends this many hours after it began, however busy. */
  readonly sessionHours: number
}

const yesOrNo = (name: string, fallback: 'yes' | 'no') =>
  z.enum(['yes', 'no'], { error: `${name} must be yes or no.` }).default(fallback).transform((answer) => answer === 'yes')

const whole = (name: string, least: number, most: number, fallback: number) => {
  const sentence = `${name} must be a whole number from ${String(least)} to ${String(most)}.`
  return z.string().regex(/^\d{1,6}$/, { error: sentence }).transform(Number).pipe(z.number().min(least, { error: sentence }).max(most, { error: sentence })).default(fallback)
}

const path = (name: string, fallback: string) => z.string().min(1, { error: `${name} must not be empty.` }).max(1000, { error: `${name} is too long.` }).default(fallback)

/** Every variable the service reads, by name. Others in the environment are none of its business. */
const ENVIRONMENT = z.object({
  DATABASE_FILE: path('DATABASE_FILE', 'data/ward.sqlite'),
  HEAD_FILE: path('HEAD_FILE', 'data/ledger-head.json'),
  HOST: path('HOST', '127.0.0.1'),
  PORT: whole('PORT', 0, 65535, 8080),
  SECURE_COOKIES: yesOrNo('SECURE_COOKIES', 'yes'),
  TRUST_PROXY: yesOrNo('TRUST_PROXY', 'no'),
  LOG_LEVEL: z.enum(['silent', 'error', 'warn', 'info'], { error: 'LOG_LEVEL must be silent, error, warn or info.' }).default('info'),
  SESSION_HOURS: whole('SESSION_HOURS', 1, 24, 13),
})

/** The names of the variables, for the documentation's own test. */
export const ENVIRONMENT_NAMES: readonly string[] = Object.keys(ENVIRONMENT.shape)

/** Refused with every sentence joined by newlines in `details.sentences`. */
export type ConfigRefusal = 'configuration-faulty'

/** Reads the configuration from the variables of a process. */
export function readConfig(env: Readonly<Record<string, string | undefined>>): Outcome<Config, ConfigRefusal> {
  const read = ENVIRONMENT.safeParse(env)
  if (!read.success) {
    const sentences = read.error.issues.map((issue) => issue.message).join('\n')
    return { ok: false, reason: 'configuration-faulty', details: { sentences } }
  }
  const v = read.data
  return accept({
    databaseFile: v.DATABASE_FILE,
    headFile: v.HEAD_FILE,
    host: v.HOST,
    port: v.PORT,
    secureCookies: v.SECURE_COOKIES,
    trustProxy: v.TRUST_PROXY,
    logLevel: v.LOG_LEVEL,
    sessionHours: v.SESSION_HOURS,
  })
}
