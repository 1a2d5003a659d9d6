import { defineConfig } from 'vitest/config'

/** One configuration for every kind of test; the folders are run one after another by tests/run-all.sh. */
export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts'],
    pool: 'forks',
    testTimeout: 60_000,
    hookTimeout: 120_000,
    passWithNoTests: false,
  },
})
