/** Stopping an order, the version after a failed verification, and a ward's standard orders. */
import { describe, expect, it } from 'vitest'
import type { Head } from '../../shared/order/entry.ts'
import {
  approvedStandards,
  approveStandard,
  copyStandard,
  standardState,
  withdrawStandard,
  type StandardOrder,
} from '../../shared/order/standard.ts'
import { isRunning, stopOrder } from '../../shared/order/stop.ts'
import { reviseOrder } from '../../shared/order/write.ts'
import { MMOL_POLICY, NOW_MS, order, POLICY, version } from '../support/dose.ts'

const STAY = { stayId: 'stay000000000001', wardId: 'ward000000000001', dischargedAtMs: null }

describe('stopping', () => {
  const entry = {
    byId: 'nurse',
    reason: 'No longer needed',
    orderedBy: 'Dr. Vera Kim',
    received: 'telephone',
    readBack: true,
  } as const
  const facts = (over = {}) => ({
    versions: [version()],
    wardId: STAY.wardId,
    dischargedAtMs: null,
    nowMs: NOW_MS,
    ...over,
  })
  it('charts a stop now, with who ordered it and the read-back', () => {
    expect(stopOrder(entry, facts())).toMatchObject({
      ok: true,
      value: [
        {
          type: 'order-stopped',
          happenedAtMs: NOW_MS,
          body: { reason: 'No longer needed', orderedBy: 'Dr. Vera Kim', received: 'telephone-read-back' },
        },
      ],
    })
  })
  it('accepts an order that has not started', () => {
    expect(stopOrder(entry, facts({ versions: [version({ startsAtMs: NOW_MS + 1 })] })).ok).toBe(true)
  })
  it.each([
    ['ended', { versions: [version({}, { endedAtMs: NOW_MS })] }, entry, 'order-ended-already'],
    ['over', { versions: [version({ stopsAtMs: NOW_MS })] }, entry, 'order-ended-already'],
    ['discharged', { dischargedAtMs: NOW_MS }, entry, 'stay-discharged'],
    ['by telephone and not read back', {}, { ...entry, readBack: false }, 'stop-not-read-back'],
  ] as const)('refuses: %s', (_, over, said, reason) => {
    expect(stopOrder(said, facts(over))).toMatchObject({ ok: false, reason })
  })
  it('needs no read-back for a written order', () => {
    expect(stopOrder({ ...entry, received: 'written', readBack: false }, facts()).ok).toBe(true)
  })
  it('keeps an order running until the instant it ends', () => {
    expect([
      isRunning(version({}, { endedAtMs: NOW_MS + 1 }), NOW_MS),
      isRunning(version({}, { endedAtMs: NOW_MS }), NOW_MS),
    ]).toEqual([true, false])
  })
})

it('allows a new version after a failed verification, not after a stop', () => {
  const orders = [version({}, { verified: null, endedAtMs: NOW_MS - 5 })]
  const entry = { orderId: 'order00000000001', basedOn: 3, order: order(), byId: 'nurse' }
  expect(reviseOrder(entry, { stay: STAY, orders, nowMs: NOW_MS })).toMatchObject({ ok: false, reason: 'order-ended' })
  expect(reviseOrder(entry, { stay: STAY, orders, nowMs: NOW_MS, differed: true })).toMatchObject({
    ok: true,
    value: [{ type: 'order-written', body: { version: 4 } }],
  })
})

describe('standard orders', () => {
  const standard = (over: Partial<StandardOrder> = {}): StandardOrder => ({
    standardOrderId: 'standard00000001',
    version: 1,
    wardId: STAY.wardId,
    name: 'Usual',
    order: order(),
    writtenById: 'anna',
    writtenAtMs: NOW_MS - 9,
    approved: null,
    endedAtMs: null,
    ...over,
  })
  const approved = { byId: 'abel', atMs: NOW_MS - 5 }
  const facts = (one: StandardOrder, others: readonly StandardOrder[] = []) => ({
    standard: one,
    versions: [one, ...others],
    policy: POLICY,
    nowMs: NOW_MS,
  })
  it.each([
    ['waits-for-approval', standard(), []],
    ['approved', standard({ approved }), []],
    ['withdrawn', standard({ approved, endedAtMs: NOW_MS - 1 }), []],
    ['replaced', standard({ approved, endedAtMs: NOW_MS - 5 }), [standard({ version: 2, approved })]],
  ] as const)('%s', (state, one, others) => {
    expect(standardState(one, [one, ...others], NOW_MS)).toBe(state)
  })
  it('can be copied only when approved and not ended', () => {
    const all = [
      standard(),
      standard({ standardOrderId: 'b', approved }),
      standard({ standardOrderId: 'c', approved, endedAtMs: NOW_MS }),
    ]
    expect(approvedStandards(all, NOW_MS).map(({ standardOrderId }) => standardOrderId)).toEqual(['b'])
  })
  it('are approved by another person', () => {
    expect(approveStandard('anna', facts(standard()))).toMatchObject({ ok: false, reason: 'approver-wrote-it' })
    expect(approveStandard('abel', facts(standard()))).toMatchObject({
      ok: true,
      value: [{ type: 'standard-order-approved', stayId: null, body: { version: 1 } }],
    })
  })
  it.each([
    ['standard-approved-already', facts(standard({ approved }))],
    ['standard-withdrawn', facts(standard({ endedAtMs: NOW_MS }))],
    ['standard-not-newest', facts(standard(), [standard({ version: 2 })])],
    ['order-unit-not-wards', { ...facts(standard()), policy: MMOL_POLICY }],
  ] as const)('refuse approval: %s', (reason, given) => {
    expect(approveStandard('abel', given)).toMatchObject({ ok: false, reason })
  })
  it('are withdrawn once', () => {
    expect(withdrawStandard({ byId: 'abel', reason: 'old' }, facts(standard({ approved })))).toMatchObject({
      ok: true,
      value: [{ type: 'standard-order-withdrawn', body: { reason: 'old' } }],
    })
    expect(withdrawStandard({ byId: 'abel', reason: 'old' }, facts(standard({ endedAtMs: NOW_MS })))).toMatchObject({
      ok: false,
      reason: 'standard-withdrawn',
    })
  })
  it('copy as the patient’s own unverified order, without prescriber, start and stop', () => {
    const own: Head = {
      prescriber: 'Dr. Vera Kim',
      received: 'telephone-read-back',
      startsAtMs: NOW_MS + 5,
      stopsAtMs: NOW_MS + 50,
    }
    const copied = copyStandard(
      { byId: 'nora', orderId: 'ordercopy0000001', own },
      { ...facts(standard({ approved })), stay: STAY, orders: [] },
    )
    expect(copied).toMatchObject({
      ok: true,
      value: [
        {
          type: 'order-written',
          stayId: STAY.stayId,
          actorId: 'nora',
          body: { orderId: 'ordercopy0000001', version: 1, order: { ...order(), ...own } },
        },
      ],
    })
    expect(copied.ok && copied.value).toHaveLength(1)
  })
  it('are not copied while waiting, nor beside an order for the same readings', () => {
    const entry = {
      byId: 'nora',
      orderId: 'ordercopy0000001',
      own: { prescriber: 'Dr. Vera Kim', received: 'written', startsAtMs: NOW_MS, stopsAtMs: null },
    } as const
    expect(copyStandard(entry, { ...facts(standard()), stay: STAY, orders: [] })).toMatchObject({
      ok: false,
      reason: 'standard-not-approved',
    })
    expect(copyStandard(entry, { ...facts(standard({ approved })), stay: STAY, orders: [version()] })).toMatchObject({
      ok: false,
      reason: 'order-overlaps',
    })
    expect(
      copyStandard(entry, { ...facts(standard({ approved })), stay: { ...STAY, dischargedAtMs: NOW_MS }, orders: [] }),
    ).toMatchObject({ ok: false, reason: 'stay-discharged' })
  })
})
