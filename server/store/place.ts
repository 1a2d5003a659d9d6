/** Whether a file can be made in a place: asked by making one, since permission bits do not tell of a read-only disk. */
import { closeSync, openSync, rmSync } from 'node:fs'

/** Makes and removes an empty file beside `file`. Throws what the operating system says against it. */
export function needPlaceBeside(file: string): void {
  const trial = `${file}.${String(process.pid)}.trial`
  try {
    closeSync(openSync(trial, 'wx'))
  } finally {
    rmSync(trial, { force: true })
  }
}
