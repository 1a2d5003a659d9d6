/**
 * A process that charts one reading after another and prints each number when acknowledged. After a kill every
 * printed number must be found. `node writer.js FILE HEAD_FILE FIRST`.
 */
import { writeSync } from 'node:fs'
import { openStore } from '../../server/store/open.ts'
import { anEvent, aReading, MINUTE, NOW } from '../support/makers.ts'

const [file, headFile, first] = process.argv.slice(2)
if (file === undefined || headFile === undefined || first === undefined)
  throw new Error('node writer.js FILE HEAD_FILE FIRST')

const store = openStore({ file, headFile })
for (let number = Number(first); ; number += 1) {
  const takenAtMs = NOW + number * MINUTE
  const reading = aReading({
    readingId: `reading${String(number).padStart(9, '0')}`,
    checkKey: `check.${String(number)}`,
    takenAtMs,
  })
  store.transact(() => {
    store.append([anEvent('reading-recorded', { reading }, { happenedAtMs: takenAtMs })])
    return null
  })
  // straight to the pipe: this process does not delay the line or print it before the commit returned
  writeSync(1, `${String(number)}\n`)
}
