/**
 * Prints "N passed, N failed" from the runner's JSON report and exits non-zero unless every test ran and passed.
 * A file that broke before its first test, a skipped test and a failed step before the tests count as failures.
 * Usage: node tests/summary.js <report.json> [failed step ...]
 */
import { readFileSync } from 'node:fs'

const [reportFile, ...failedSteps] = process.argv.slice(2)
let passed = 0
let failed = 0

for (const step of failedSteps) fail(`${step} failed`)

try {
  const report = JSON.parse(readFileSync(reportFile, 'utf8'))
  for (const file of report.testResults) {
    for (const test of file.assertionResults) {
      if (test.status === 'passed') passed++
      else if (test.status === 'failed') fail(`failed: ${test.fullName}`)
      else fail(`did not run (${test.status}): ${test.fullName}`)
    }
    const nothingSaidSo = file.assertionResults.every((test) => test.status === 'passed')
    if (file.status !== 'passed' && nothingSaidSo) fail(`broke outside its tests: ${file.name}: ${file.message}`)
  }
  if (passed + failed - failedSteps.length === 0) fail('no test ran')
  else if (!report.success && failed === failedSteps.length) fail('the runner reports an error outside the tests')
} catch (error) {
  fail(`no report of the tests: ${error instanceof Error ? error.message : String(error)}`)
}

console.log(`${passed} passed, ${failed} failed`)
process.exitCode = failed === 0 && passed > 0 ? 0 : 1

function fail(what) {
  failed++
  console.log(`✘ ${what}`)
}
