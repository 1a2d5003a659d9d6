/**
 * The examples in server/deploy agree with the service: the variables, paths, ports, addresses and versions that they
 * name exist.
 */
import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ENVIRONMENT_NAMES, readConfig } from '../../server/config.ts'
import { routeTable } from '../../server/http/route.ts'
import { filesBelow, importsOf, ROOT, textOf } from '../support/house.ts'
import { makeWorld, type World } from '../support/world.ts'

const FOLDER = 'server/deploy'
const unit = textOf(`${FOLDER}/ward-glucose-round.service`)
const env = textOf(`${FOLDER}/ward-glucose-round.env`)
const container = textOf(`${FOLDER}/Containerfile`)
const proxy = textOf(`${FOLDER}/reverse-proxy.conf`)
const guide = textOf(`${FOLDER}/README.md`)

/** Lines without comments and blanks. */
const lines = (text: string): readonly string[] =>
  text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('#'))
/** Every value of the key in "Key=value" lines. */
const valuesOf = (text: string, key: string): readonly string[] =>
  lines(text)
    .filter((line) => line.startsWith(`${key}=`))
    .map((line) => line.slice(key.length + 1))
const valueOf = (text: string, key: string): string => {
  const [value, ...more] = valuesOf(text, key)
  expect([key, value === undefined ? 'missing' : 'there', more]).toEqual([key, 'there', []])
  return value ?? ''
}
/** Variables that an env file sets or shows as a comment. */
const namesIn = (text: string): readonly string[] =>
  text.split('\n').flatMap((line) => /^#?([A-Z][A-Z_]*)=/.exec(line)?.[1] ?? [])
/** A settings file as the process reads it. */
const settings = (text: string): Record<string, string> =>
  Object.fromEntries(
    lines(text).map((line) => {
      const at = line.indexOf('=')
      return [line.slice(0, at), line.slice(at + 1)]
    }),
  )
/** True when a source exists for the compiled file below dist/. */
const isBuilt = (file: string): boolean =>
  file.startsWith('dist/') && existsSync(join(ROOT, file.replace(/^dist\//, '').replace(/\.js$/, '.ts')))

let world: World
beforeAll(async () => {
  world = await makeWorld()
})
afterAll(() => world.close())

describe('the readers find planted faults', () => {
  it('in variables, comments, repeated values and files that are not built', () => {
    expect(namesIn('A_B=1\n#C=\n# D=text\n#e=1')).toEqual(['A_B', 'C'])
    expect(settings('A=b=c\n# X=1\n\nD=')).toEqual({ A: 'b=c', D: '' })
    expect(valuesOf('A=1\n#A=2\n A=3', 'A')).toEqual(['1', '3'])
    expect([isBuilt('dist/server/main.js'), isBuilt('dist/server/mains.js'), isBuilt('server/main.js')]).toEqual([
      true,
      false,
      false,
    ])
  })
})

describe('settings', () => {
  it('name every variable of the service once, and no other', () => {
    expect([...namesIn(env)].sort()).toEqual([...ENVIRONMENT_NAMES].sort())
  })

  it('work unchanged for a service behind its proxy', () => {
    expect(readConfig(settings(env))).toMatchObject({
      ok: true,
      value: { host: '127.0.0.1', port: 8080, secureCookies: true, trustProxy: ['127.0.0.1'], metricsToken: null },
    })
  })

  it('keep backups and the head on another disk than the database', () => {
    const { DATABASE_FILE = '', HEAD_FILE = '', BACKUP_FOLDER = '' } = settings(env)
    const top = (path: string): string => path.split('/')[1] ?? ''
    expect(dirname(HEAD_FILE)).toBe(BACKUP_FOLDER)
    expect(top(DATABASE_FILE)).not.toBe(top(BACKUP_FOLDER))
  })
})

describe('unit', () => {
  it('starts the built service from the guide’s folder with the guide’s settings', () => {
    const [program = '', script = ''] = valueOf(unit, 'ExecStart').split(' ')
    expect(program).toBe('/usr/bin/node')
    expect(guide).toContain(`at \`${program}\``)
    expect(isBuilt(script), script).toBe(true)
    const folder = valueOf(unit, 'WorkingDirectory')
    expect(guide).toContain(`package.json package-lock.json node_modules dist views migrations ${folder}/`)
    expect(guide).toContain(`server/deploy/ward-glucose-round.env ${dirname(valueOf(unit, 'EnvironmentFile'))}/`)
    expect(guide).toContain(
      `useradd --system --home-dir ${dirname(settings(env)['DATABASE_FILE'] ?? '')} --shell /usr/sbin/nologin ${valueOf(unit, 'User')}`,
    )
  })

  it('may write only where the settings say', () => {
    const { DATABASE_FILE = '', BACKUP_FOLDER = '' } = settings(env)
    expect(dirname(DATABASE_FILE)).toBe(`/var/lib/${valueOf(unit, 'StateDirectory')}`)
    expect(valueOf(unit, 'ReadWritePaths')).toBe(`-${BACKUP_FOLDER}`)
    expect(valueOf(unit, 'ProtectSystem')).toBe('strict')
  })

  it('stops the service cleanly and restarts it after a fault', () => {
    expect(valueOf(unit, 'KillSignal')).toBe('SIGTERM')
    expect(textOf('server/main.ts')).toContain("'SIGTERM'")
    expect(valueOf(unit, 'Restart')).toBe('on-failure')
    // longer than the longest request may take
    expect(Number(valueOf(unit, 'TimeoutStopSec'))).toBeGreaterThan(world.server.app.server.requestTimeout / 1000)
  })

  it('has only the rights it needs', () => {
    for (const key of [
      'NoNewPrivileges',
      'ProtectHome',
      'PrivateTmp',
      'PrivateDevices',
      'ProtectClock',
      'ProtectHostname',
      'ProtectControlGroups',
      'ProtectKernelLogs',
      'ProtectKernelModules',
      'ProtectKernelTunables',
      'PrivateUsers',
      'RestrictNamespaces',
      'RestrictRealtime',
      'RestrictSUIDSGID',
      'LockPersonality',
    ])
      expect([key, valueOf(unit, key)]).toEqual([key, 'yes'])
    for (const key of ['CapabilityBoundingSet', 'AmbientCapabilities'])
      expect([key, valueOf(unit, key)]).toEqual([key, ''])
    expect([valueOf(unit, 'UMask'), valueOf(unit, 'StateDirectoryMode')]).toEqual(['0077', '0700'])
    expect([valueOf(unit, 'IPAddressDeny'), valueOf(unit, 'IPAddressAllow')]).toEqual(['any', 'localhost'])
    expect(valuesOf(unit, 'SystemCallFilter')).toContain('@system-service')
  })

  it('allows what the program needs: compilation at run time, and a lower priority for backups', () => {
    expect(valuesOf(unit, 'MemoryDenyWriteExecute')).toEqual([])
    expect(textOf('server/backup/child.ts')).toContain('setPriority(')
    expect(
      valuesOf(unit, 'SystemCallFilter')
        .filter((value) => value.startsWith('~'))
        .join(' '),
    ).not.toContain('@resources')
  })
})

describe('container file', () => {
  const stages = container
    .replace(/\\\n\s*/g, '')
    .split(/^FROM /m)
    .slice(1)
  const [build = '', run = ''] = stages
  const copies = (stage: string): readonly (readonly string[])[] =>
    lines(stage)
      .filter((line) => line.startsWith('COPY '))
      .map((line) =>
        line
          .slice(5)
          .split(' ')
          .filter((word) => !word.startsWith('--')),
      )

  it('has two stages with the Node version of package.json', () => {
    const { engines } = JSON.parse(textOf('package.json')) as { engines: { node: string } }
    const allowed = engines.node.split(' || ').map((range) => /^(\d+)\.x$/.exec(range)?.[1] ?? 'none')
    const [least] = allowed
    expect(stages).toHaveLength(2)
    for (const stage of stages)
      expect(lines(stage)[0]).toMatch(new RegExp(`^node:${least ?? 'none'}-slim( AS build)?$`))
    expect(guide).toContain(`Node ${allowed.join(' or ')} at`)
  })

  it('copies existing files by name, so that no database gets in', () => {
    for (const [...paths] of copies(build)) {
      paths.pop()
      expect(paths.length).toBeGreaterThan(0)
      for (const path of paths)
        expect([
          path,
          existsSync(join(ROOT, path)),
          path.startsWith('.') && path !== '.npmrc',
          path === 'data',
        ]).toEqual([path, true, false, false])
    }
    expect(build).toContain('RUN npm ci\n')
    expect(build).toContain('npm run build && npm prune --omit=dev')
  })

  it('ships every file that the service reads at run time, and no test', () => {
    const shipped = copies(run)
      .flatMap((words) => words.slice(0, -1))
      .map((path) => path.replace(/^\/build\//, ''))
    for (const path of shipped.filter((one) => one.startsWith('dist/')))
      expect(existsSync(join(ROOT, path.slice('dist/'.length))), path).toBe(true)
    expect(shipped.filter((path) => !path.startsWith('dist/')).sort()).toEqual([
      'migrations',
      'node_modules',
      'package-lock.json',
      'package.json',
      'views/assets',
    ])
    // every file reached from the commands is in a copied folder
    const reached = new Set<string>()
    const walk = (file: string): void => {
      if (reached.has(file)) return
      reached.add(file)
      for (const { from, target } of importsOf(file)) if (from.startsWith('.')) walk(target)
    }
    for (const file of ['server/main.ts', 'server/backup/child.ts', ...filesBelow('server', ['run.ts'])]) walk(file)
    expect(reached.size).toBeGreaterThan(200)
    expect([...reached].filter((file) => !shipped.includes(`dist/${file.split('/')[0] ?? ''}`))).toEqual([])
    const script = /^CMD \["node", "(.+)"\]$/m.exec(run)?.[1] ?? ''
    expect(isBuilt(script), script).toBe(true)
  })

  it('runs as an unprivileged user with valid settings', () => {
    expect(lines(run).findIndex((line) => line === 'USER node')).toBeGreaterThan(
      lines(run).findIndex((line) => line.startsWith('RUN ')),
    )
    const set = Object.fromEntries(
      /^ENV (.+)$/m
        .exec(run)?.[1]
        ?.split(' ')
        .filter((one) => one !== '')
        .map((one) => one.split('=') as [string, string]) ?? [],
    )
    const { NODE_ENV, ...own } = set
    expect(NODE_ENV).toBe('production')
    expect(Object.keys(own).filter((name) => !ENVIRONMENT_NAMES.includes(name))).toEqual([])
    expect(readConfig(own)).toMatchObject({ ok: true, value: { host: '0.0.0.0', secureCookies: true } })
    const volumes = /^VOLUME (.+)$/m.exec(run)?.[1] ?? ''
    for (const path of [
      dirname(own['DATABASE_FILE'] ?? ''),
      dirname(own['HEAD_FILE'] ?? ''),
      own['BACKUP_FOLDER'] ?? '',
    ])
      expect(volumes).toContain(`"${path}"`)
    expect(run).toContain('STOPSIGNAL SIGTERM')
  })

  it('checks health on the served port', () => {
    const port = /PORT=(\d+)/.exec(run)?.[1] ?? ''
    expect(run).toContain(`EXPOSE ${port}\n`)
    const asked = new URL(/fetch\('([^']+)'\)/.exec(run)?.[1] ?? '')
    expect([asked.hostname, asked.port]).toEqual(['127.0.0.1', port])
    expect(
      routeTable(world.server).some(
        ({ method, url, roles }) => method === 'GET' && url === asked.pathname && roles === 'anyone',
      ),
    ).toBe(true)
  })
})

describe('proxy', () => {
  it('forwards to the service’s address', () => {
    const { HOST = '', PORT = '' } = settings(env)
    expect(/upstream (\w+) \{\s*server ([\d.:]+);/.exec(proxy)?.[2]).toBe(`${HOST}:${PORT}`)
    for (const [, name] of proxy.matchAll(/proxy_pass http:\/\/(\w+);/g))
      expect(proxy).toContain(`upstream ${name ?? ''} {`)
  })

  it('sets the sender’s address itself and trusts no header', () => {
    const headers = new Map(
      lines(proxy).flatMap((line) => {
        const [, name, value] = /^proxy_set_header (\S+) (.+);$/.exec(line) ?? []
        return name === undefined || value === undefined ? [] : [[name, value] as const]
      }),
    )
    expect(Object.fromEntries(headers)).toEqual({
      Connection: '""',
      Host: '$http_host',
      'X-Forwarded-For': '$remote_addr',
      'X-Forwarded-Proto': '$scheme',
      'X-Forwarded-Host': '$http_host',
    })
    expect(lines(proxy).join('\n')).not.toContain('proxy_add_x_forwarded_for')
    // headers set in a location would replace those of the server
    expect(proxy.match(/location[^}]*proxy_set_header/)).toBeNull()
  })

  it('sends every event stream unbuffered, and no other page', () => {
    const [, pattern = '', body = ''] = /location ~ (\S+) \{([^}]*)\}/.exec(proxy) ?? []
    const streams = routeTable(world.server)
      .filter(({ url }) => new RegExp(pattern).test(url))
      .map(({ url }) => url)
    expect(streams).toEqual(['/board/stream', '/board/wards/stream'])
    for (const url of streams) expect(guide).toContain(`\`${url}\``)
    expect(body).toContain('proxy_buffering off;')
    expect(body).toMatch(/proxy_read_timeout 1h;/)
  })

  it('redirects to HTTPS, leaves security headers to the service, logs no address and hides metrics', () => {
    expect(proxy).toMatch(/listen 80;[\s\S]*return 308 https:\/\//)
    expect(proxy).toContain('ssl_protocols TLSv1.2 TLSv1.3;')
    expect(lines(proxy).filter((line) => line.startsWith('add_header'))).toEqual([])
    expect(lines(proxy).filter((line) => line === 'access_log off;')).toHaveLength(
      proxy.match(/^server \{$/gm)?.length ?? 0,
    )
    expect(proxy).toMatch(/location = \/metrics \{\s*return 404;/)
    // larger than the service's own limit, so that its own page reports a body that is too long
    const most = Number(/client_max_body_size (\d+)k;/.exec(proxy)?.[1]) * 1024
    expect(most).toBeGreaterThan(world.server.app.initialConfig.bodyLimit ?? Infinity)
  })
})

describe('guide', () => {
  it('names every file beside it, and only built commands', () => {
    for (const file of filesBelow(FOLDER))
      if (!file.endsWith('README.md')) expect(guide).toContain(`\`${file.slice(FOLDER.length + 1)}\``)
    const named = [...guide.matchAll(/dist\/server\/\w+\/run\.js/g)].map(([file]) => file)
    expect(named.length).toBeGreaterThan(3)
    expect(named.filter((file) => !isBuilt(file))).toEqual([])
    expect(guide).toContain('server/backup/README.md')
    expect(textOf('server/backup/README.md')).toContain('# Backup, upgrade, rollback')
    expect(textOf('README.md')).toContain(FOLDER)
  })
})
