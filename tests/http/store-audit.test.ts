/**
 * The reads of the board and the audit: sums by SQL equal sums by the rule, scope holds, near misses and notes are
 * saved and rebuilt.
 */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { sumsOf } from '../../shared/audit/rates.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Scope } from '../../server/store/contract.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
beforeEach(async () => {
  world = await makeWorld()
})
afterEach(() => world.close())

const HOUR = 3_600_000
const EDDA: Scope = { staffId: people.edda.staffId, role: 'educator', wardIds: [ALDER, BIRCH] }
const ONLY_BIRCH: Scope = { ...EDDA, wardIds: [BIRCH] }
const YEAR = { fromDate: '2026-01-01', toDate: '2026-12-31' }

let numbered = 0
const reading = (
  stay: { stayId: string; wardId: string },
  value: number | 'LO' | 'HI',
  wardDate: string,
  hour: number,
  wardId = stay.wardId,
): LedgerEvent => {
  const takenAtMs = Date.parse(`${wardDate}T00:00:00Z`) + hour * HOUR
  const made: Reading = {
    readingId: `audit${String(++numbered).padStart(11, '0')}`,
    stayId: stay.stayId,
    wardId,
    wardDate,
    checkKey: null,
    glucose: { unit: wardId === ALDER ? 'mg/dL' : 'mmol/L', value },
    source: 'capillary',
    takenAtMs,
    chartedAtMs: takenAtMs,
    byId: people.nora.staffId,
    site: null,
    meterId: null,
    stripLot: null,
    doubts: [],
    lateReason: null,
    extraReason: 'other',
    supersedes: null,
    supersededBy: null,
    voided: null,
  }
  return {
    type: 'reading-recorded',
    wardId,
    stayId: stay.stayId,
    actorId: people.nora.staffId,
    happenedAtMs: takenAtMs,
    chartedAtMs: takenAtMs,
    body: { reading: made },
  }
}
const append = (...events: readonly LedgerEvent[]): void => {
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
}

describe('sums over patient-days', () => {
  const put = (): void => {
    append(
      reading(stays.ruth, 65, '2026-02-01', 8),
      reading(stays.ruth, 150, '2026-02-01', 12),
      reading(stays.ruth, 210, '2026-02-01', 17),
      reading(stays.ruth, 140, '2026-02-02', 8),
      reading(stays.tomas, 'LO', '2026-02-01', 8),
      reading(stays.tomas, 320, '2026-03-01', 8),
      reading(stays.ines, 'HI', '2026-03-01', 9),
      reading(stays.gwen, 38, '2026-02-01', 8),
      reading(stays.gwen, 145, '2026-02-02', 8),
    )
    // the same date on two wards is one patient-day of the hospital and one of each ward
    append(reading(stays.gwen, 60, '2026-02-03', 8), {
      type: 'stay-moved',
      wardId: ALDER,
      stayId: stays.gwen.stayId,
      actorId: 'loader',
      happenedAtMs: Date.parse('2026-02-03T12:00:00Z'),
      chartedAtMs: Date.parse('2026-02-03T12:00:00Z'),
      body: { fromWardId: BIRCH, toWardId: ALDER, bed: '8' },
    })
    append(reading(stays.gwen, 180, '2026-02-03', 18, ALDER))
  }

  it.each([[[ALDER, BIRCH]], [[ALDER]], [[BIRCH]], [[]]])('by SQL equal the rule’s own sums: %s', (wardIds) => {
    put()
    const asked = { wardIds, ...YEAR }
    const figures = world.store.patientDays(EDDA, asked)
    expect(world.store.rateSums(EDDA, asked)).toEqual(sumsOf(figures))
  })

  it('by month and by ward', () => {
    put()
    const asked = { wardIds: [ALDER, BIRCH], ...YEAR }
    const figures = world.store.patientDays(EDDA, asked)
    const months = world.store.rateSumsBy(EDDA, asked, 'month')
    expect([...months.keys()].sort()).toEqual(['2026-02', '2026-03'])
    for (const [month, sums] of months)
      expect(sums).toEqual(sumsOf(figures.filter(({ wardDate }) => wardDate.startsWith(month))))
    const wards = world.store.rateSumsBy(EDDA, asked, 'ward')
    expect([...wards.keys()].sort()).toEqual([ALDER, BIRCH])
    for (const [wardId, sums] of wards) expect(sums).toEqual(sumsOf(figures.filter((day) => day.wardId === wardId)))
    // a date on two wards counts for each ward and once for the hospital
    const days = [...wards.values()].reduce((sum, { days: { count } }) => sum + count, 0)
    expect(world.store.rateSums(EDDA, asked).days.count).toBe(days - 1)
  })

  it('leave out wards outside the scope and dates outside the period', () => {
    put()
    expect(world.store.rateSums(ONLY_BIRCH, { wardIds: [ALDER, BIRCH], ...YEAR })).toEqual(
      world.store.rateSums(EDDA, { wardIds: [BIRCH], ...YEAR }),
    )
    expect(
      world.store.rateSums(EDDA, { wardIds: [ALDER, BIRCH], fromDate: '2026-02-02', toDate: '2026-02-02' }).readings,
    ).toBe(2)
  })
})

describe('near misses, notes and assigned needs', () => {
  const head = {
    wardId: ALDER,
    stayId: stays.ruth.stayId,
    actorId: people.nora.staffId,
    happenedAtMs: Date.parse('2026-02-01T08:00:00Z'),
    chartedAtMs: Date.parse('2026-02-01T08:00:00Z'),
  }
  const span = { fromMs: head.happenedAtMs, toMs: head.happenedAtMs + 1 }

  it('are each saved once, by ward', () => {
    append(
      {
        ...head,
        type: 'wristband-mismatched',
        body: { expectedStayId: stays.ruth.stayId, foundStayId: stays.tomas.stayId, at: 'give' },
      },
      { ...head, type: 'entry-refused', body: { what: 'wrong-unit', at: 'check' } },
      {
        ...head,
        type: 'dose-stopped',
        body: { readingId: null, slotKey: null, orderId: stays.ruth.orderId, guards: ['stacking', 'meal-timing'] },
      },
    )
    expect(
      world.store.nearMisses(EDDA, { wardIds: [ALDER, BIRCH], ...span }).map(({ kind, details }) => [kind, details]),
    ).toEqual([
      ['wristband', { at: 'give' }],
      ['wrong-unit', { at: 'check' }],
      ['guard-stopped', { guards: 'stacking meal-timing', orderId: stays.ruth.orderId }],
    ])
    expect(world.store.nearMisses(ONLY_BIRCH, { wardIds: [ALDER, BIRCH], ...span })).toEqual([])
    expect(world.store.nearMisses(EDDA, { wardIds: [ALDER], fromMs: span.toMs, toMs: span.toMs + 1 })).toEqual([])
  })

  it('a need belongs to the last assigned nurse', () => {
    append(
      { ...head, type: 'need-handed', body: { needKey: 'low.x', toStaffId: people.omar.staffId } },
      { ...head, type: 'need-handed', body: { needKey: 'low.x', toStaffId: people.cora.staffId } },
    )
    expect(world.store.handedNeeds(EDDA, ALDER).get('low.x')?.toStaffId).toBe(people.cora.staffId)
    expect(world.store.handedNeeds(ONLY_BIRCH, ALDER).size).toBe(0)
  })

  it('show a note beside its low event, for the ward’s own educator', () => {
    append(reading(stays.ruth, 52, '2026-02-01', 7))
    append({
      ...head,
      type: 'low-event-opened',
      body: { lowId: 'lowaudit00000001', readingId: `audit${String(numbered).padStart(11, '0')}`, previousLowId: null },
    })
    append({
      ...head,
      type: 'audit-note-added',
      body: {
        noteId: 'noteaudit0000001',
        lowId: 'lowaudit00000001',
        finding: 'Tray late',
        followUp: 'Told the kitchen',
      },
    })
    expect(world.store.auditNotes(EDDA, 'lowaudit00000001')).toMatchObject([
      { finding: 'Tray late', followUp: 'Told the kitchen' },
    ])
    expect(world.store.auditNotes(ONLY_BIRCH, 'lowaudit00000001')).toEqual([])
    expect(
      world.store.lowsOpened(EDDA, { wardIds: [ALDER], ...span }).map(({ low, stay }) => [low.lowId, stay.bed]),
    ).toEqual([['lowaudit00000001', stays.ruth.bed]])
    const audit = world.store.stayAudit(EDDA, stays.ruth.stayId, { fromMs: 0, toMs: Date.now() })
    expect(audit?.readings).toHaveLength(1)
    expect(audit?.lows).toHaveLength(1)
    expect(world.store.stayAudit(ONLY_BIRCH, stays.ruth.stayId, { fromMs: 0, toMs: Date.now() })).toBeUndefined()
  })
})
