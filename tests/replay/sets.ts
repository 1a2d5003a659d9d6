/** The two data sets as the replay uses them. */
import { readdirSync, readFileSync, statSync } from 'node:fs'
import { basename, join } from 'node:path'
import { parseShanghai } from './shanghai.ts'
import { USUAL_MG_PER_DL, USUAL_MMOL_PER_L } from './table.ts'
import { parseUci } from './uci.ts'
import type { ReplaySet } from './ward.ts'

/** A folder is the AIM-94 set (all its files data-NN), a file is the Shanghai set. */
export function readSet(path: string): ReplaySet {
  if (!statSync(path).isDirectory()) {
    const log = parseShanghai({ name: basename(path), text: readFileSync(path, 'utf8') })
    return { name: 'Shanghai finger sticks', unit: 'mmol/L', zone: 'Asia/Shanghai', log, rows: USUAL_MMOL_PER_L }
  }
  const names = readdirSync(path)
    .filter((name) => /^data-\d\d$/.test(name))
    .sort()
  const log = parseUci(names.map((name) => ({ name, text: readFileSync(join(path, name), 'latin1') })))
  // the logs name no zone: every local time exists in UTC, so none is refused for a clock change
  return { name: 'AIM-94 diabetes logs (UCI)', unit: 'mg/dL', zone: 'Etc/UTC', log, rows: USUAL_MG_PER_DL }
}
