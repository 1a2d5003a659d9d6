import { defineConfig } from 'vitest/config'
import { LongestFirst } from './support/longest-first.ts'

/**
 * Files that replace a module or the machine's timers: what they replace must reach no other file, and a module that
 * another file has loaded before cannot be replaced.
 */
const OWN_PROCESS = ['tests/http/security-pins.test.ts']

/** `--sequence.shuffle.files` is heeded by the runner's own sequencers only. */
const isShuffled = process.argv.some((word) => word.startsWith('--sequence.shuffle'))

/** One configuration for every kind of test; tests/run-all.sh runs all folders in one go. */
export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    pool: 'forks',
    maxWorkers: 2,
    // browser flows take their time on a small machine; no test asserts a duration
    testTimeout: 120_000,
    hookTimeout: 120_000,
    expect: { poll: { timeout: 20_000, interval: 50 } },
    passWithNoTests: false,
    allowOnly: false,
    sequence: isShuffled ? {} : { sequencer: LongestFirst },
    projects: [
      {
        extends: true,
        // loading and compiling the program once for each process, not for each file, is a third of the suite's work
        test: { name: 'shared', isolate: false, include: ['tests/**/*.test.ts'], exclude: OWN_PROCESS },
      },
      { extends: true, test: { name: 'own-process', isolate: true, include: OWN_PROCESS } },
    ],
  },
})
