import { defineConfig } from 'vitest/config'

/** One configuration for every kind of test; tests/run-all.sh runs all folders in one go. */
export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts'],
    pool: 'forks',
    maxWorkers: 2,
    // browser flows take their time on a small machine; no test asserts a duration
    testTimeout: 120_000,
    hookTimeout: 120_000,
    expect: { poll: { timeout: 20_000, interval: 50 } },
    passWithNoTests: false,
    allowOnly: false,
  },
})
