/** `npm run replay -- FOLDER|FILE`: replays a whole data set through its own service and prints the table. */
import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { verifyStore } from '../../server/store/verify.ts'
import { replay } from './drive.ts'
import { differsFromReadme, unaccounted } from './known.ts'
import { ratesDiffer } from './rates.ts'
import { rawLines } from './raw.ts'
import { tableOf } from './report.ts'
import { readSet } from './sets.ts'

async function main(path: string | undefined): Promise<number> {
  if (path === undefined || !exists(path)) {
    console.error('Name the UCI folder or the Shanghai file: npm run replay -- path/to/uci-diabetes')
    return 1
  }
  const set = readSet(path)
  const folder = mkdtempSync(join(tmpdir(), 'replay-'))
  const [file, headFile] = [join(folder, 'replay.sqlite'), join(folder, 'head.json')]
  try {
    const begunMs = performance.now()
    const result = await replay(set, {
      file,
      headFile,
      progress: (done, of) => {
        console.error(
          `${String(done)} of ${String(of)} values, ${String(Math.round((performance.now() - begunMs) / 1000))} s`,
        )
      },
    })
    const raw = rawLines(path, result.charted)
    console.log(tableOf(set, raw, result))
    const differences = verifyStore({ file, headFile }).reduce((sum, line) => sum + line.differences.length, 0)
    console.log(`verify on the scratch file: ${String(differences)} differences`)
    const faults = [...result.faults, ...differsFromReadme(set), ...ratesDiffer(result.sums, raw, set.unit)]
    if (unaccounted(set) !== 0) faults.push(`${String(unaccounted(set))} lines are unaccounted for`)
    for (const fault of faults.slice(0, 20)) console.error(`FAULT ${fault}`)
    return faults.length + differences === 0 ? 0 : 1
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

function exists(path: string): boolean {
  return statSync(path, { throwIfNoEntry: false }) !== undefined
}

process.exitCode = await main(process.argv[2])
