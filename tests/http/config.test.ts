/** The configuration: every fault is reported at once and says what to type instead. */
import { describe, expect, it } from 'vitest'
import { ENVIRONMENT_NAMES, readConfig } from '../../server/config.ts'

describe('readConfig', () => {
  it('has a safe default for everything', () => {
    expect(readConfig({})).toEqual({
      ok: true,
      value: {
        databaseFile: 'data/ward.sqlite',
        headFile: 'data/ledger-head.json',
        host: '127.0.0.1',
        port: 8080,
        secureCookies: true,
        trustProxy: false,
        logLevel: 'info',
        sessionHours: 13,
        backupFolder: null,
        backupEveryMin: 60,
        backupKeep: 48,
        metricsToken: null,
      },
    })
  })

  it('reads the given variables and ignores others', () => {
    const read = readConfig({
      DATABASE_FILE: '/var/lib/ward/w.sqlite',
      HEAD_FILE: '/mnt/other/head',
      HOST: '0.0.0.0',
      PORT: '0',
      SECURE_COOKIES: 'no',
      TRUST_PROXY: '127.0.0.1, 10.1.0.0/16,fd00::/8',
      LOG_LEVEL: 'warn',
      SESSION_HOURS: '1',
      BACKUP_FOLDER: '/mnt/other',
      BACKUP_EVERY_MINUTES: '5',
      BACKUP_KEEP: '1',
      METRICS_TOKEN: 'a-token-of-sixteen-signs',
      PATH: '/bin',
    })
    expect(read).toEqual({
      ok: true,
      value: {
        databaseFile: '/var/lib/ward/w.sqlite',
        headFile: '/mnt/other/head',
        host: '0.0.0.0',
        port: 0,
        secureCookies: false,
        trustProxy: ['127.0.0.1', '10.1.0.0/16', 'fd00::/8'],
        logLevel: 'warn',
        sessionHours: 1,
        backupFolder: '/mnt/other',
        backupEveryMin: 5,
        backupKeep: 1,
        metricsToken: 'a-token-of-sixteen-signs',
      },
    })
  })

  it('reports every fault at once, one sentence each', () => {
    const read = readConfig({
      DATABASE_FILE: '',
      PORT: '80.5',
      SECURE_COOKIES: 'true',
      TRUST_PROXY: '1',
      LOG_LEVEL: 'debug',
      SESSION_HOURS: '48',
      BACKUP_FOLDER: 'x'.repeat(1001),
      BACKUP_EVERY_MINUTES: '4',
      BACKUP_KEEP: '0',
      METRICS_TOKEN: 'short',
    })
    expect(read.ok ? [] : read.details.sentences.split('\n')).toEqual([
      'DATABASE_FILE must not be empty.',
      'PORT must be a whole number from 0 to 65535.',
      'SECURE_COOKIES must be yes or no.',
      'TRUST_PROXY must be no, or the proxies’ addresses or networks with commas between them, such as 127.0.0.1 or 10.1.0.0/16.',
      'LOG_LEVEL must be silent, error, warn or info.',
      'SESSION_HOURS must be a whole number from 1 to 24.',
      'BACKUP_FOLDER is too long.',
      'BACKUP_EVERY_MINUTES must be a whole number from 5 to 1440.',
      'BACKUP_KEEP must be a whole number from 1 to 1000.',
      'METRICS_TOKEN must have 16 to 200 letters, digits or signs and no blanks.',
    ])
  })

  it.each(['-1', '65536', '1e3', '', ' 80', 'eighty', '0x50', '٨٠'])('refuses the port %j', (PORT) => {
    expect(readConfig({ PORT })).toMatchObject({ ok: false, reason: 'configuration-faulty' })
  })

  it.each(['yes', '', '10.0.0.1,', '10.0.0.0/33', 'fd00::/129', '10.0.0.0/8/8', '10.0.0', 'proxy.ward', '*'])(
    'trusts no proxy called %j',
    (TRUST_PROXY) => {
      expect(readConfig({ TRUST_PROXY })).toMatchObject({ ok: false, reason: 'configuration-faulty' })
    },
  )

  it('lists its variables', () => {
    expect(ENVIRONMENT_NAMES).toEqual([
      'DATABASE_FILE',
      'HEAD_FILE',
      'HOST',
      'PORT',
      'SECURE_COOKIES',
      'TRUST_PROXY',
      'LOG_LEVEL',
      'SESSION_HOURS',
      'BACKUP_FOLDER',
      'BACKUP_EVERY_MINUTES',
      'BACKUP_KEEP',
      'METRICS_TOKEN',
    ])
  })
})
