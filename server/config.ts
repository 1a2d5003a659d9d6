/** The only reader of the environment. All faults are told at once, a sentence each. */
import { isIP } from 'node:net'
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../shared/outcome.ts'

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
  /** Addresses and networks of the hospital's own proxies, whose X-Forwarded-For and -Proto are believed; false: nobody's. */
  readonly trustProxy: false | readonly string[]
  readonly logLevel: 'silent' | 'error' | 'warn' | 'info'
  /** A login ends this many hours after it began, however busy. */
  readonly sessionHours: number
  /** Where scheduled backups go, on another disk; null: none are made. */
  readonly backupFolder: string | null
  /** Minutes from one scheduled backup to the next. */
  readonly backupEveryMin: number
  /** Scheduled backups that are kept; the oldest go first. */
  readonly backupKeep: number
  /** What a collector of figures must send as a bearer token to be given /metrics; null: there is no such address. */
  readonly metricsToken: string | null
}

const yesOrNo = (name: string, fallback: 'yes' | 'no') =>
  z
    .enum(['yes', 'no'], { error: `${name} must be yes or no.` })
    .default(fallback)
    .transform((answer) => answer === 'yes')

const whole = (name: string, least: number, most: number, fallback: number) => {
  const sentence = `${name} must be a whole number from ${String(least)} to ${String(most)}.`
  return z
    .string()
    .regex(/^\d{1,6}$/, { error: sentence })
    .transform(Number)
    .pipe(z.number().min(least, { error: sentence }).max(most, { error: sentence }))
    .default(fallback)
}

const path = (name: string, fallback: string) =>
  z
    .string()
    .min(1, { error: `${name} must not be empty.` })
    .max(1000, { error: `${name} is too long.` })
    .default(fallback)

/** One address, or a network as address/prefix length. */
function isAddressOrNetwork(text: string): boolean {
  const [address = '', bits, ...more] = text.split('/')
  const family = isIP(address)
  return (
    family !== 0 &&
    more.length === 0 &&
    (bits === undefined || (/^\d{1,3}$/.test(bits) && Number(bits) <= (family === 4 ? 32 : 128)))
  )
}

const proxies = z
  .string()
  .default('no')
  .transform((text) => (text === 'no' ? (false as const) : text.split(',').map((one) => one.trim())))
  .refine((list) => list === false || list.every(isAddressOrNetwork), {
    error:
      'TRUST_PROXY must be no, or the proxies’ addresses or networks with commas between them, such as 127.0.0.1 or 10.1.0.0/16.',
  })

/** Every variable the service reads, by name. Others in the environment are none of its business. */
const ENVIRONMENT = z.object({
  DATABASE_FILE: path('DATABASE_FILE', 'data/ward.sqlite'),
  HEAD_FILE: path('HEAD_FILE', 'data/ledger-head.json'),
  HOST: path('HOST', '127.0.0.1'),
  PORT: whole('PORT', 0, 65535, 8080),
  SECURE_COOKIES: yesOrNo('SECURE_COOKIES', 'yes'),
  TRUST_PROXY: proxies,
  LOG_LEVEL: z
    .enum(['silent', 'error', 'warn', 'info'], { error: 'LOG_LEVEL must be silent, error, warn or info.' })
    .default('info'),
  SESSION_HOURS: whole('SESSION_HOURS', 1, 24, 13),
  BACKUP_FOLDER: z.string().max(1000, { error: 'BACKUP_FOLDER is too long.' }).default(''),
  BACKUP_EVERY_MINUTES: whole('BACKUP_EVERY_MINUTES', 5, 1440, 60),
  BACKUP_KEEP: whole('BACKUP_KEEP', 1, 1000, 48),
  METRICS_TOKEN: z
    .string()
    .regex(/^([\x21-\x7e]{16,200})?$/, {
      error: 'METRICS_TOKEN must have 16 to 200 letters, digits or signs and no blanks.',
    })
    .default(''),
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
    return refuse('configuration-faulty', { sentences })
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
    backupFolder: v.BACKUP_FOLDER === '' ? null : v.BACKUP_FOLDER,
    backupEveryMin: v.BACKUP_EVERY_MINUTES,
    backupKeep: v.BACKUP_KEEP,
    metricsToken: v.METRICS_TOKEN === '' ? null : v.METRICS_TOKEN,
  })
}

/** What the configuration is when nothing is set, for whoever starts a service with settings of its own: demo, tests, benchmark. */
export function defaultConfig(): Config {
  const read = readConfig({})
  if (!read.ok) throw new Error('the defaults are faulty')
  return read.value
}
