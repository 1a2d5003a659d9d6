/** The configuration: every fault told at once, in words that say what to type instead. */
import { describe, expect, it } from 'vitest'
import { ENVIRONMENT_NAMES, readConfig } from '../../server/config.ts'

describe('readConfig', () => {
  it('has a default for everything, and the defaults are the careful ones', () => {
    expect(readConfig({})).toEqual({ ok: true, value: { databaseFile: 'data/ward.sqlite', headFile: 'data/ledger-head.json', host: '127.0.0.1', port: 8080, secureCookies: true, trustProxy: false, logLevel: 'info', sessionHours: 13 } })
  })

  it('takes what is given and leaves other variables alone', () => {
    const read = readConfig({ DATABASE_FILE: '/var/lib/ward/w.sqlite', HEAD_FILE: '/mnt/other/head', HOST: '0.0.0.0', PORT: '0', SECURE_COOKIES: 'no', TRUST_PROXY: 'yes', LOG_LEVEL: 'warn', SESSION_HOURS: '1', PATH: '/bin' })
    expect(read).toEqual({ ok: true, value: { databaseFile: '/var/lib/ward/w.sqlite', headFile: '/mnt/other/head', host: '0.0.0.0', port: 0, secureCookies: false, trustProxy: true, logLevel: 'warn', sessionHours: 1 } })
  })

  it('tells every fault at once, a sentence each', () => {
    const read = readConfig({ DATABASE_FILE: '', PORT: '80.5', SECURE_COOKIES: 'true', TRUST_PROXY: '1', LOG_LEVEL: 'debug', SESSION_HOURS: '48' })
    expect(read.ok ? [] : String(read.details['sentences']).split('\n')).toEqual([
      'DATABASE_FILE must not be empty.',
      'PORT must be a whole number from 0 to 65535.',
      'SECURE_COOKIES must be yes or no.',
      'TRUST_PROXY must be yes or no.',
      'LOG_LEVEL must be silent, error, warn or info.',
      'SESSION_HOURS must be a whole number from 1 to 24.',
    ])
  })

  it.each(['-1', '65536', '1e3', '', ' 80', 'eighty', '0x50', '٨٠'])('refuses the port %j', (PORT) => {
    expect(readConfig({ PORT })).toMatchObject({ ok: false, reason: 'configuration-faulty' })
  })

  it('names its variables', () => {
    expect(ENVIRONMENT_NAMES).toEqual(['DATABASE_FILE', 'HEAD_FILE', 'HOST', 'PORT', 'SECURE_COOKIES', 'TRUST_PROXY', 'LOG_LEVEL', 'SESSION_HOURS'])
  })
})
