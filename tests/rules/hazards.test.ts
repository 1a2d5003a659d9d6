/** The hazard log names only files and tests that exist; each row is complete, and each finding is listed. */
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { ROOT, textOf } from '../support/house.ts'
import { faultOf, referencesIn } from '../support/references.ts'

const text = textOf('shared/HAZARDS.md')
const rows = text
  .split('\n')
  .filter((line) => /^\| \d+ \|/.test(line))
  .map((line) => line.slice(2, -2).split(' | '))
const SEVERITIES = ['catastrophic', 'critical', 'serious', 'minor', 'negligible']

describe('the hazard log', () => {
  it('has complete rows, numbered from 1', () => {
    expect(rows.length).toBeGreaterThan(60)
    expect(rows.map(([number]) => Number(number))).toEqual(rows.map((_row, index) => index + 1))
    expect(rows.filter((row) => row.length !== 7 || row.some((cell) => cell.trim() === ''))).toEqual([])
  })

  it('gives each harm one severity of its list', () => {
    expect(rows.filter(([, , , harm = '']) => !SEVERITIES.some((one) => harm.endsWith(`; ${one}`)))).toEqual([])
  })

  it('names only tests that exist, one at least in each row that is no finding', () => {
    const references = rows.flatMap((row) => referencesIn(row[5] ?? ''))
    expect(references.map(faultOf).filter((fault) => fault !== null)).toEqual([])
    expect(rows.filter(([, , , , , test = '']) => test !== 'finding' && referencesIn(test).length === 0)).toEqual([])
  })

  it('names only files that exist as controls', () => {
    const named = [...text.matchAll(/`((?:server|shared|views|seed-demo)\/[\w./-]+)`/g)].map(([, file = '']) => file)
    expect(named.length).toBeGreaterThan(60)
    expect(named.filter((file) => !existsSync(join(ROOT, file)))).toEqual([])
  })

  it('lists each finding, and no other', () => {
    const listed = [...(text.split('## Findings')[1] ?? '').matchAll(/^- (\d+):/gm)].map(([, number = '']) => number)
    const found = rows.filter(([, , , , , test]) => test === 'finding').map(([number = '']) => number)
    expect(listed).toEqual(found)
    expect(found.length).toBeGreaterThan(0)
  })
})
