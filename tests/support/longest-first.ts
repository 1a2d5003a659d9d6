/** The order of the test files: the longest first, so that two workers end together. */
import { existsSync } from 'node:fs'
import { join, relative } from 'node:path'
import { BaseSequencer, type TestSpecification } from 'vitest/node'

/** Files of more than about ten seconds of work, the longest first. Those that are not named follow by their path. */
const LONGEST: readonly string[] = [
  // has a process of its own: later, it would take the place of one that others share
  'tests/http/security-pins.test.ts',
  'tests/browser/every-page-phone.test.ts',
  'tests/browser/every-page-tablet.test.ts',
  'tests/faults/durability.test.ts',
  'tests/faults/opening.test.ts',
  'tests/faults/short.test.ts',
  'tests/faults/low-kill.test.ts',
  'tests/http/demo.test.ts',
  'tests/http/upgrade.test.ts',
  'tests/browser/board.test.ts',
  'tests/browser/low.test.ts',
  'tests/browser/nurses-way.test.ts',
  'tests/browser/setup-orders.test.ts',
  'tests/browser/faults.test.ts',
  'tests/browser/audit.test.ts',
  'tests/browser/setup-stays.test.ts',
  'tests/browser/setup-verify.test.ts',
  'tests/browser/setup-meters.test.ts',
  'tests/browser/second-device.test.ts',
  'tests/http/restore.test.ts',
  'tests/http/backup.test.ts',
  'tests/http/security-forms.test.ts',
  'tests/http/security.test.ts',
  'tests/http/security-requests.test.ts',
  'tests/http/security-wards.test.ts',
]

/** Throws when a file that is named here is not there: it was renamed, and would start late. */
export class LongestFirst extends BaseSequencer {
  override sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const { root } = this.ctx.config
    const missing = LONGEST.filter((path) => !existsSync(join(root, path)))
    if (missing.length > 0) throw new Error(`tests/support/longest-first.ts names no file: ${missing.join(', ')}`)
    const place = (file: TestSpecification): readonly [number, string] => {
      const path = relative(root, file.moduleId)
      const at = LONGEST.indexOf(path)
      return [at < 0 ? LONGEST.length : at, path]
    }
    return Promise.resolve(
      [...files].sort((a, b) => {
        const [aAt, aPath] = place(a)
        const [bAt, bPath] = place(b)
        return aAt - bAt || (aPath < bPath ? -1 : 1)
      }),
    )
  }
}
