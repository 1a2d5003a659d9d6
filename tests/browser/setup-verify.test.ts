/**
 * Two nurses on two devices: one copies the ward's standard order for a patient, the other verifies it from the
 * original in her own session, and the first works out a dose. A wrong answer stops the version for good.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ALDER, people } from '../support/people.ts'
import { ALDER_SCALE, scaleOrder, stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage } from './pages/check.ts'
import { DosePage, ProposePage } from './pages/dose.ts'
import { CopyStandardPage, OrderListPage, OrderPage, VerifyPage } from './pages/order.ts'
import { ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'
import { storeEvents } from '../../server/store/store-events.ts'

/** The printed correction: the first row that contains the glucose. */
const PAPER: readonly (readonly [number, string])[] = [
  [401, 'call'],
  [351, '10'],
  [301, '8'],
  [251, '6'],
  [201, '4'],
  [151, '2'],
  [0, '0'],
]
const offPaper = (question: string): string =>
  PAPER.find(([from]) => Number(/glucose (\d+)/.exec(question)?.[1]) >= from)?.[1] ?? ''

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let nora: Device
  let omar: Device
  beforeAll(async () => {
    open = await openWorld()
    const { store, clock } = open.world
    const nowMs = clock.now()
    const head = { wardId: ALDER, stayId: null, happenedAtMs: nowMs, chartedAtMs: nowMs }
    store.transact(() => {
      storeEvents(store, [
        {
          ...head,
          actorId: people.anna.staffId,
          type: 'standard-order-written',
          body: {
            standardOrderId: 'standard00000001',
            version: 1,
            name: 'Correction, usual',
            order: scaleOrder(ALDER_SCALE, nowMs, { prescriber: 'Standard order of the ward' }),
          },
        },
        {
          ...head,
          actorId: people.abel.staffId,
          type: 'standard-order-approved',
          body: { standardOrderId: 'standard00000001', version: 1 },
        },
      ])
      return null
    })
    nora = await open.signedIn(people.nora, size)
    omar = await open.signedIn(people.omar, size)
  })
  afterAll(async () => open.close())

  it('one nurse copies the standard order', async () => {
    await nora.page.goto(`/stays/${stays.tomas.stayId}/orders`)
    await (await new OrderListPage(nora).verifyOnPage()).follow('From a standard order')
    const copy = await new CopyStandardPage(nora).verifyOnPage()
    await copy.pick('standard', 'standard00000001.1')
    await copy.fill('prescriber', 'Dr. Vera Kim')
    await copy.pick('received', 'written')
    await copy.press('Copy into this patient’s order')
    const order = await new OrderPage(nora).verifyOnPage()
    await order.says('Not yet verified')
    expect(await order.main.getByRole('link', { name: 'Verify from the original' }).count()).toBe(0)
  })

  it('the other finds it on the Round and verifies it from the paper', async () => {
    const round = await new RoundPage(omar).open()
    await round.says('Insulin orders not verified yet, 2 patients: bed 2, bed 4')
    await round.follow('bed 2')
    await (await new OrderListPage(omar).verifyOnPage()).follow('Verify')
    const verify = await new VerifyPage(omar).verifyOnPage()
    await omar.picture('order-verify')
    await omar.fitsItsWidth()
    await verify.answer('insulin lispro', (await verify.questions()).map(offPaper))
    const order = await new OrderPage(omar).verifyOnPage()
    await order.says('In force')
    await order.says('All answers agreed')
    omar.noFaults()
  })

  it('a dose is worked out from it', async () => {
    await (await new RoundPage(nora).open()).scanWristband(stays.tomas.wristband)
    await (await new CheckPage(nora).verifyOnPage()).key('267')
    await (await new ResultPage(nora).verifyOnPage()).follow('Work out the dose')
    await (await new ProposePage(nora).verifyOnPage()).answer({ willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    expect(await (await new DosePage(nora).verifyOnPage()).bigNumber()).toBe('6 units')
    nora.noFaults()
  })

  it('one wrong answer, by keyboard only, stops another order for good', async () => {
    await omar.page.goto(`/orders/${stays.yusuf.orderId}/1/verify`)
    const verify = await new VerifyPage(omar).verifyOnPage()
    const answers = (await verify.questions()).map(offPaper)
    await omar.page.locator('input[name="identifiers"]').focus()
    await omar.page.keyboard.press('Space')
    await omar.page.keyboard.press('Tab')
    await omar.page.keyboard.press('Space')
    await omar.page.keyboard.press('Tab')
    await omar.page.keyboard.type('insulin li')
    for (const [index, answer] of answers.entries()) {
      await omar.page.keyboard.press('Tab')
      if (answer !== 'call' && index > 0) await omar.page.keyboard.type(answer)
      if (index === 0) await omar.page.keyboard.type('9')
      await omar.page.keyboard.press('Tab')
      if (answer === 'call' && index > 0) await omar.page.keyboard.press('Space')
    }
    await omar.page.keyboard.press('Tab')
    await omar.page.keyboard.press('Space')
    await omar.page.keyboard.press('Tab')
    await omar.page.keyboard.press('Enter')
    const order = await new OrderPage(omar).verifyOnPage()
    await order.says('Verification differed')
    await order.says(/The original and the transcription differed at: [^;]*glucose \d+ mg\/dL/)
    await omar.picture('order-differed')
    omar.noFaults()
  })
})
