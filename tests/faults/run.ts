/**
 * `npm run faults [-- short] [-- PART] [-- seed=N]`: injects faults around the service and counts the results. Prints
 * a table; exit code 1 when anything was lost, doubled or left without a response.
 */
import type { Result, Size } from './part.ts'

type Part = (size: Size, seed: number) => Promise<Result>

const PARTS: Readonly<Record<string, () => Promise<Part>>> = {
  kill: async () => (await import('./kill.ts')).kill,
  'disk-full': async () => (await import('./disk-full.ts')).diskFull,
  clock: async () => (await import('./clock.ts')).clock,
  malformed: async () => (await import('./malformed.ts')).malformed,
  race: async () => (await import('./race.ts')).race,
}

async function main(words: readonly string[]): Promise<number> {
  const seedWord = words.find((word) => /^seed=\d+$/.test(word))
  const named = words.filter((word) => word !== 'short' && word !== seedWord)
  const unknown = named.filter((word) => !(word in PARTS))
  if (unknown.length > 0) {
    console.error(
      `There is no part "${unknown.join('", "')}". There are: ${Object.keys(PARTS).join(', ')}; and "short", and "seed=N".`,
    )
    return 2
  }
  const size: Size = words.includes('short') ? 'short' : 'full'
  const seed = seedWord === undefined ? Date.now() % 1_000_000_007 : Number(seedWord.slice(5))
  const results: Result[] = []
  for (const [name, load] of Object.entries(PARTS)) {
    if (named.length > 0 && !named.includes(name)) continue
    const startedAt = performance.now()
    const result = await ended(name, (await load())(size, seed))
    console.error(`${name}: ${String(Math.round((performance.now() - startedAt) / 1000))} s`)
    results.push(result)
  }
  print(results)
  return results.some(({ faults }) => faults.length > 0) ? 1 : 0
}

/** A part that throws is a fault, and the other results are still printed. */
async function ended(part: string, running: Promise<Result>): Promise<Result> {
  try {
    return await running
  } catch (error) {
    return {
      part,
      done: 'broke off',
      counted: '',
      faults: [error instanceof Error ? (error.stack ?? error.message) : String(error)],
    }
  }
}

const SHOWN = 20

function print(results: readonly Result[]): void {
  console.log('| part | done | counted | faults |\n|---|---|---|---|')
  for (const { part, done, counted, faults } of results)
    console.log(`| ${part} | ${done} | ${counted} | ${String(faults.length)} |`)
  for (const { part, faults } of results) {
    for (const fault of faults.slice(0, SHOWN)) console.log(`FAULT ${part}: ${fault}`)
    if (faults.length > SHOWN) console.log(`FAULT ${part}: and ${String(faults.length - SHOWN)} more`)
  }
}

process.exitCode = await main(process.argv.slice(2))
