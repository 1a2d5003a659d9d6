/**
 * `npm run demo -- [--at HH:MM] [--fresh] [--port N]`: serves the invented hospital on 127.0.0.1 with its own ward
 * clock.
 */
import { parseArgs } from 'node:util'
import { SYSTEM_CLOCKS } from '../server/clocks.ts'
import { wardDate, wardTime } from '../shared/time/zone.ts'
import { startDemo, type DemoRefusal, type RunningDemo } from './demo.ts'
import { PEOPLE, ZONE } from './people.ts'
import { sentenceOf, type Sentences } from '../shared/outcome.ts'

const USAGE = 'npm run demo -- [--at HH:MM] [--fresh] [--port N]'

const SENTENCES: Sentences<DemoRefusal> = {
  'not-a-demo': ({ file }) => `${file} is not a demo's database, so the demo does not touch it. Move it away first.`,
  'earlier-needs-fresh': ({ at, stands }) =>
    `The demo already stands at ${stands}, and what was charted stays: ${at} is earlier. Begin again with --fresh, or start later in the day.`,
}

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      at: { type: 'string' },
      fresh: { type: 'boolean', default: false },
      port: { type: 'string', default: '8080' },
    },
  })
  const at = values.at ?? null
  if (at !== null && !/^([01]\d|2[0-3]):[0-5]\d$/.test(at))
    return fail(`--at takes a time as HH:MM, such as 11:40. ${USAGE}`)
  if (!/^\d{1,5}$/.test(values.port) || Number(values.port) > 65535)
    return fail(`--port takes a number from 0 to 65535. ${USAGE}`)
  const started = await startDemo({
    folder: 'data',
    at,
    fresh: values.fresh,
    port: Number(values.port),
    clocks: SYSTEM_CLOCKS,
  })
  if (!started.ok) return fail(sentenceOf(SENTENCES, started))
  for (const signal of ['SIGTERM', 'SIGINT'] as const) {
    process.once(signal, () => {
      started.value.stop().then(
        () => process.exit(0),
        (error: unknown) => {
          fail(String(error))
        },
      )
    })
  }
  tell(started.value)
}

function tell(demo: RunningDemo): void {
  const now = demo.now()
  const roles: Readonly<Record<string, string>> = {
    'floor-nurse': 'floor nurse',
    'charge-nurse': 'charge nurse',
    educator: 'educator',
    administrator: 'administrator',
  }
  const rows = PEOPLE.map(({ badge, pin, name, role, wards }) => [
    badge,
    pin,
    roles[role] ?? role,
    name,
    wards.join(', '),
  ])
  const heads = ['badge', 'PIN', 'role', 'name', 'wards']
  const widths = heads.map((head, column) => Math.max(head.length, ...rows.map((row) => (row[column] ?? '').length)))
  const line = (cells: readonly string[]): string =>
    cells
      .map((cell, column) => cell.padEnd(widths[column] ?? 0))
      .join('  ')
      .trimEnd()
  console.log(`
Ward Glucose Round, the demo: an invented hospital, no real patient.
${demo.seeded ? 'Filled with a week of its history.' : 'Goes on where it stood; --fresh begins again.'}

  ${demo.address}

Ward time is ${wardTime(now, ZONE)} on ${wardDate(now, ZONE)} and runs on. The banner moves it.

${[heads, ...rows].map((row) => `  ${line(row)}`).join('\n')}

Stop with Ctrl-C.`)
}

function fail(sentence: string): void {
  console.error(sentence)
  process.exit(1)
}

try {
  await main()
} catch (error) {
  fail(
    error instanceof Error && 'code' in error && error.code === 'EADDRINUSE'
      ? 'The port is in use. Stop what uses it, or choose another: npm run demo -- --port 8090'
      : `The demo cannot start: ${error instanceof Error ? error.message : String(error)}`,
  )
}
