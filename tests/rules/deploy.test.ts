/** The examples of server/deploy keep up with the service: variables, paths, ports, addresses and versions that they name are there and agree. */
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

/** Lines that count: without comments and blanks. */
const lines = (text: string): readonly string[] =>
  text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('#'))
/** Every value that the key is given, "Key=value" by line. */
const valuesOf = (text: string, key: string): readonly string[] =>
  lines(text)
    .filter((line) => line.startsWith(`${key}=`))
    .map((line) => line.slice(key.length + 1))
const valueOf = (text: string, key: string): string => {
  const [value, ...more] = valuesOf(text, key)
  expect([key, value === undefined ? 'missing' : 'there', more]).toEqual([key, 'there', []])
  return value ?? ''
}
/** Names of variables that an env file sets or shows as a comment. */
const namesIn = (text: string): readonly string[] =>
  text.split('\n').flatMap((line) => /^#?([A-Z][A-Z_]*)=/.exec(line)?.[1] ?? [])
/** A settings file as the process gets it. */
const settings = (text: string): Record<string, string> =>
  Object.fromEntries(
    lines(text).map((line) => {
      const at = line.indexOf('=')
      return [line.slice(0, at), line.slice(at + 1)]
    }),
  )
/** True when the compiled file, below dist/, is made of a source that is there. */
const isBuilt = (file: string): boolean =>
  file.startsWith('dist/') && existsSync(join(ROOT, file.replace(/^dist\//, '').replace(/\.js$/, '.ts')))

let world: World
beforeAll(async () => {
  world = await makeWorld()
})
afterAll(() => world.close())

describe('the readers see what is planted', () => {
  it('a variable, a comment, a value given twice, a file that is not built', () => {
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

describe('the settings', () => {
  it('name every variable of the service and no other, once', () => {
    expect([...namesIn(env)].sort()).toEqual([...ENVIRONMENT_NAMES].sort())
  })

  it('are taken as they stand, for a service that only its proxy reaches', () => {
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

describe('the unit', () => {
  it('starts what is built, in the folder into which the guide puts it, with the settings from where it puts them', () => {
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

  it('may write where the settings say, and nowhere else', () => {
    const { DATABASE_FILE = '', BACKUP_FOLDER = '' } = settings(env)
    expect(dirname(DATABASE_FILE)).toBe(`/var/lib/${valueOf(unit, 'StateDirectory')}`)
    expect(valueOf(unit, 'ReadWritePaths')).toBe(`-${BACKUP_FOLDER}`)
    expect(valueOf(unit, 'ProtectSystem')).toBe('strict')
  })

  it('is stopped as the service stops cleanly, and is started again after a fault', () => {
    expect(valueOf(unit, 'KillSignal')).toBe('SIGTERM')
    expect(textOf('server/main.ts')).toContain("'SIGTERM'")
    expect(valueOf(unit, 'Restart')).toBe('on-failure')
    // longer than the longest request is given
    expect(Number(valueOf(unit, 'TimeoutStopSec'))).toBeGreaterThan(world.server.app.server.requestTimeout / 1000)
  })

  it('holds no more rights than it needs', () => {
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

  it('leaves in what the program needs: compiling at run time, and a backup that makes itself less urgent', () => {
    expect(valuesOf(unit, 'MemoryDenyWriteExecute')).toEqual([])
    expect(textOf('server/backup/child.ts')).toContain('setPriority(')
    expect(
      valuesOf(unit, 'SystemCallFilter')
        .filter((value) => value.startsWith('~'))
        .join(' '),
    ).not.toContain('@resources')
  })
})

describe('the container file', () => {
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

  it('has two stages of the Node that package.json asks for', () => {
    const { engines } = JSON.parse(textOf('package.json')) as { engines: { node: string } }
    const least = /^>=(\d+)$/.exec(engines.node)?.[1]
    expect(stages).toHaveLength(2)
    for (const stage of stages)
      expect(lines(stage)[0]).toMatch(new RegExp(`^node:${least ?? 'none'}-slim( AS build)?$`))
    expect(guide).toContain(`Node ${least ?? 'none'} or newer`)
  })

  it('builds from files that are there, named one by one, so that no database lands in it', () => {
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

  it('ships everything that the service reads when it runs, and no test', () => {
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
    // every file that is reached from the commands lies in a folder that is copied
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

  it('runs as nobody in particular, with settings that the service takes', () => {
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

  it('asks the health of the port it serves', () => {
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

describe('the proxy', () => {
  it('sends on to where the service listens', () => {
    const { HOST = '', PORT = '' } = settings(env)
    expect(/upstream (\w+) \{\s*server ([\d.:]+);/.exec(proxy)?.[2]).toBe(`${HOST}:${PORT}`)
    for (const [, name] of proxy.matchAll(/proxy_pass http:\/\/(\w+);/g))
      expect(proxy).toContain(`upstream ${name ?? ''} {`)
  })

  it('tells the sender’s address itself, and believes nobody', () => {
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
    // headers that are set again in a location would take away those of the server
    expect(proxy.match(/location[^}]*proxy_set_header/)).toBeNull()
  })

  it('sends every event stream on at once, and no page besides', () => {
    const [, pattern = '', body = ''] = /location ~ (\S+) \{([^}]*)\}/.exec(proxy) ?? []
    const streams = routeTable(world.server)
      .filter(({ url }) => new RegExp(pattern).test(url))
      .map(({ url }) => url)
    expect(streams).toEqual(['/board/stream', '/board/wards/stream'])
    for (const url of streams) expect(guide).toContain(`\`${url}\``)
    expect(body).toContain('proxy_buffering off;')
    expect(body).toMatch(/proxy_read_timeout 1h;/)
  })

  it('leads to HTTPS, leaves the security headers to the service, logs no address and gives no figures away', () => {
    expect(proxy).toMatch(/listen 80;[\s\S]*return 308 https:\/\//)
    expect(proxy).toContain('ssl_protocols TLSv1.2 TLSv1.3;')
    expect(lines(proxy).filter((line) => line.startsWith('add_header'))).toEqual([])
    expect(lines(proxy).filter((line) => line === 'access_log off;')).toHaveLength(
      proxy.match(/^server \{$/gm)?.length ?? 0,
    )
    expect(proxy).toMatch(/location = \/metrics \{\s*return 404;/)
    // larger than the service's own limit, so that its own page says what is too long
    const most = Number(/client_max_body_size (\d+)k;/.exec(proxy)?.[1]) * 1024
    expect(most).toBeGreaterThan(world.server.app.initialConfig.bodyLimit ?? Infinity)
  })
})

describe('the guide', () => {
  it('names every file beside it, and only commands that are built', () => {
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
