/**
 * A rebuild applies a ledger that older rules accepted, although the rules void more now. Each ledger here is written
 * row by row as an older program left it, and opened by this one.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Dose } from '../../shared/dose/dose.ts'
import { doseState, unaccountedDose } from '../../shared/dose/state.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { connect } from '../../server/store/connection.ts'
import type { Store } from '../../server/store/contract.ts'
import { ledgerOf } from '../../server/store/ledger.ts'
import { migrate } from '../../server/store/migrate.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import {
  aDose,
  anEvent,
  anOrder,
  anOrderInForce,
  aReading,
  aScope,
  aSmallWard,
  HOUR,
  idOf,
  mgPerDl,
  MINUTE,
  NOW,
  SECOND_NURSE,
  someInputs,
  someWorking,
  STAY,
  TODAY,
  ZONE,
} from '../support/makers.ts'

const METER = idOf('meter')
const BASAL = idOf('basal')
const POLICY = defaultPolicy('mg/dL', ZONE)

let folder: string
let file: string
let store: Store | null

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-old-'))
  file = join(folder, 'ward.sqlite')
  store = null
})
afterEach(() => {
  store?.close()
  rmSync(folder, { recursive: true })
})

/** Writes the rows and no derived table; opening the new file fills the tables from the ledger. */
function openLedger(...events: readonly LedgerEvent[]): Store {
  const connection = connect(file)
  migrate(connection.raw)
  const ledger = ledgerOf(connection)
  connection.raw.transaction(() => {
    for (const event of [...aSmallWard(), ...anOrderInForce(), ...events]) ledger.append(event)
  })()
  connection.raw.close()
  store = openStore({ file })
  return store
}
function doseOf(opened: Store, doseId: string): Dose {
  const found = opened.doseById(aScope(), doseId)
  if (found === undefined) throw new Error(`no dose ${doseId}`)
  return found
}
const differences = () =>
  verifyStore({ file, headFile: null })
    .filter(({ what }) => what !== 'doses worked out again')
    .flatMap((line) => line.differences)
const at = (minutes: number) => ({ happenedAtMs: NOW + minutes * MINUTE })

const basal = aDose({
  doseId: BASAL,
  kind: 'scheduled',
  readingId: null,
  slotKey: `${STAY}.${TODAY}.t0800`,
  insulin: 'insulin glargine',
  units: 18,
  working: someWorking({ orderId: idOf('basalorder'), readingId: null, units: 18 }),
  inputs: someInputs({ occasion: null, scheduledTime: '08:00', scheduledDueMs: NOW, readingTakenAtMs: NOW - HOUR }),
})
const steps = (dose: Dose, from: number): readonly LedgerEvent[] => [
  anEvent(
    'second-check-answered',
    {
      doseId: dose.doseId,
      answer: { byId: SECOND_NURSE, atMs: NOW + from * MINUTE, glucose: null, units: dose.units, agreed: true },
    },
    { actorId: SECOND_NURSE, ...at(from) },
  ),
  anEvent(
    'dose-verified',
    {
      doseId: dose.doseId,
      byId: SECOND_NURSE,
      insulin: dose.insulin,
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: dose.units,
    },
    { actorId: SECOND_NURSE, ...at(from + 1) },
  ),
  anEvent(
    'dose-given',
    { doseId: dose.doseId, site: { area: 'thigh', side: 'left' }, food: 'not-with-a-meal' },
    at(from + 2),
  ),
]
const low = anEvent(
  'reading-recorded',
  { reading: aReading({ readingId: idOf('low'), takenAtMs: NOW + MINUTE, glucose: mgPerDl(66) }) },
  at(1),
)
const measured = anEvent('reading-recorded', { reading: aReading({ meterId: METER, stripLot: 'LOT-1' }) })
const failedControl = anEvent('meter-controlled', { meterId: METER, passed: false }, { stayId: null, ...at(1) })
const policySet = anEvent('policy-set', { version: 2, policy: POLICY }, { stayId: null, ...at(1) })

describe('a dose that today’s rules void and older rules did not', () => {
  it.each<readonly [string, Dose, readonly LedgerEvent[]]>([
    ['a scheduled dose, a low value after it', basal, [anEvent('dose-proposed', { dose: basal }), low]],
    [
      'a dose, a failed control of its meter',
      aDose(),
      [measured, anEvent('dose-proposed', { dose: aDose() }), failedControl],
    ],
    ['a dose, a new ward policy', aDose(), [measured, anEvent('dose-proposed', { dose: aDose() }), policySet]],
  ])('%s: checked, signed and given afterwards counts as given', (_name, dose, before) => {
    const opened = openLedger(...before, ...steps(dose, 2))
    const found = doseOf(opened, dose.doseId)
    expect(found).toMatchObject({
      product: { byId: SECOND_NURSE, units: dose.units },
      outcome: { kind: 'given', atMs: NOW + 4 * MINUTE },
      voided: null,
    })
    expect(opened.stayFacts(aScope(), STAY, NOW + HOUR)?.insulinGiven.map(({ doseId }) => doseId)).toEqual([
      dose.doseId,
    ])
    expect(differences()).toEqual([])
  })

  it.each(['withheld', 'refused'] as const)('%s afterwards keeps that state', (kind) => {
    const found = doseOf(
      openLedger(
        anEvent('dose-proposed', { dose: basal }),
        low,
        anEvent('dose-not-given', { doseId: BASAL, kind, reason: 'low' }, at(2)),
      ),
      BASAL,
    )
    expect([found.outcome?.kind, found.voided]).toEqual([kind, null])
    expect(differences()).toEqual([])
  })

  it('answered, differing and restarted: stays void and ends there', () => {
    const differed = anEvent(
      'second-check-answered',
      { doseId: BASAL, answer: { byId: SECOND_NURSE, atMs: NOW, glucose: null, units: 8, agreed: false } },
      { actorId: SECOND_NURSE, ...at(2) },
    )
    const opened = openLedger(
      anEvent('dose-proposed', { dose: basal }),
      low,
      differed,
      anEvent('dose-started-again', { doseId: BASAL }, at(3)),
    )
    const found = doseOf(opened, BASAL)
    expect([
      found.answers.length,
      found.restarts.length,
      found.voided?.reason,
      doseState(found, POLICY, NOW + 3 * MINUTE),
    ]).toEqual([1, 1, 'newer-reading', 'void'])
    const [agreed] = steps(basal, 4)
    if (agreed === undefined) throw new Error('no step')
    expect(() => {
      opened.transact(() => {
        opened.append([agreed])
        return null
      })
    }).toThrow(/settled/)
    expect(differences()).toEqual([])
  })

  it('signed at the upgrade: is void and must be accounted for', () => {
    const [agreed, verified] = steps(basal, 2)
    if (agreed === undefined || verified === undefined) throw new Error('no steps')
    const opened = openLedger(anEvent('dose-proposed', { dose: basal }), low, agreed, verified)
    const found = doseOf(opened, BASAL)
    expect([found.voided?.reason, doseState(found, POLICY, NOW + 4 * MINUTE)]).toEqual(['newer-reading', 'void'])
    expect(unaccountedDose([found], 'insulin glargine', POLICY, NOW + 4 * MINUTE)?.doseId).toBe(BASAL)
    opened.transact(() => {
      opened.append([anEvent('dose-not-given', { doseId: BASAL, kind: 'withheld', reason: 'low' }, at(5))])
      return null
    })
    expect(doseOf(opened, BASAL).outcome?.kind).toBe('withheld')
    expect(differences()).toEqual([])
  })

  it('a checked 0 is charted as 0', () => {
    const zero = aDose({ units: 0, working: someWorking({ units: 0 }) })
    const answered = anEvent(
      'second-check-answered',
      { doseId: zero.doseId, answer: { byId: SECOND_NURSE, atMs: NOW, glucose: mgPerDl(182), units: 0, agreed: true } },
      { actorId: SECOND_NURSE, ...at(2) },
    )
    const found = doseOf(
      openLedger(measured, anEvent('dose-proposed', { dose: zero }), failedControl, answered),
      zero.doseId,
    )
    expect([found.outcome?.kind, found.voided]).toEqual(['zero-charted', null])
  })
})

describe('a rebuild stops at an event that no rules accepted', () => {
  it.each<readonly [string, readonly LedgerEvent[], RegExp]>([
    ['given twice', [...steps(basal, 2), ...steps(basal, 2).slice(2)], /settled/],
    ['given without its signature', steps(basal, 2).slice(2), /not verified/],
    ['agreed twice', [...steps(basal, 2).slice(0, 1), ...steps(basal, 3).slice(0, 1)], /agreed before/],
  ])('%s', (_name, events, sentence) => {
    expect(() => openLedger(anEvent('dose-proposed', { dose: basal }), ...events)).toThrow(sentence)
  })
})

it('given before it was voided and charted after: stays void and given, live and rebuilt', () => {
  const [agreed, verified] = steps(basal, 1)
  if (agreed === undefined || verified === undefined) throw new Error('no steps')
  const opened = openLedger(anEvent('dose-proposed', { dose: basal }), agreed, verified)
  opened.transact(() => {
    opened.append([
      anEvent(
        'order-written',
        { orderId: idOf('two'), version: 1, order: anOrder({ startsAtMs: NOW + 4 * MINUTE }) },
        at(4),
      ),
      anEvent('dose-voided', { doseId: BASAL, reason: 'order-changed' }, at(4)),
      anEvent(
        'dose-given',
        { doseId: BASAL, site: { area: 'thigh', side: 'left' }, food: 'not-with-a-meal' },
        { ...at(3), chartedAtMs: NOW + 5 * MINUTE },
      ),
    ])
    return null
  })
  const found = doseOf(opened, BASAL)
  expect([found.outcome?.kind, found.voided?.reason]).toEqual(['given', 'order-changed'])
  expect(differences()).toEqual([])
})
