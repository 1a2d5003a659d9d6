/**
 * Published orders entered through the page in Chromium: edges compared with the printed rows, malformed ones refused
 * by their value, worked doses in the preview, and the form by keyboard and without a script.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ALL } from '../support/bedside.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { BEDTIME_D, BEDTIME_D_EDGES, MALFORMED, PUBLISHED, WORKED } from '../standards/scales-page.ts'
import { SIZES, type Device } from './browser.ts'
import { OrderEntryPage, rowFields } from './pages/order-entry.ts'
import { openWorld, type OpenWorld } from './start.ts'

const [CART] = SIZES
const HEAD = { insulin: 'insulin lispro', atBreakfast: 'yes', atLunch: 'yes', atSupper: 'yes', atBedtime: 'yes' }
const answered = (hole: { readonly value: string; readonly units: number }): Readonly<Record<string, string>> => ({
  answered1From: hole.value,
  answered1Units: String(hole.units),
})
const inWords = (answer: number | 'call'): string =>
  answer === 'call' ? 'no dose, call' : answer === 1 ? '1 unit' : `${String(answer)} units`
const words = (edges: readonly (readonly [number, number | 'call'])[]): readonly (readonly [string, string])[] =>
  edges.map(([value, answer]) => [String(value), inWords(answer)])

let open: OpenWorld
let device: Device
const formAt = async (on: Device, stayId: string): Promise<OrderEntryPage> => {
  await on.page.goto(`/stays/${stayId}/orders/new`)
  return new OrderEntryPage(on).verifyOnPage()
}
beforeAll(async () => {
  open = await openWorld({ alderPolicy: { idleLockMin: 600 }, birchPolicy: { idleLockMin: 600 } })
  device = await open.signedIn(people.nora, CART)
})
afterAll(async () => open.close())

describe('scales 2a to 2e, entered through the page', { sequential: true }, () => {
  it('each edge and the values beside it equal the printed rows', async () => {
    const form = await formAt(device, stays.tomas.stayId)
    for (const { name, rows, hole, edges } of PUBLISHED) {
      const typed = { ...HEAD, ...rowFields(rows) }
      await form.fillAll(typed)
      if (hole !== null) {
        expect((await form.refused())?.sentence, `${name} as printed`).toContain(`${hole.value} mg/dL is in no row`)
        expect(await form.edges('correction'), name).toEqual([])
        await form.fillAll({ ...typed, ...answered(hole) })
      }
      expect(await form.refused(), name).toBeNull()
      // the scale that answers 350 like its neighbour has one edge for both, so the printed bound is found from its
      // neighbours
      expect(merged(await form.edges('correction')), name).toEqual(merged(words(edges)))
    }
    device.noFaults()
  })

  it('2a at bedtime, half (M): 141 → 1/2/3, 301 → 5/6/7, 401 → 7/8/9', async () => {
    const form = await formAt(device, stays.tomas.stayId)
    for (const [index, name] of ['2a sensitive', '2a usual', '2a resistant'].entries()) {
      const scale = PUBLISHED.find((one) => one.name === name)
      await form.fillAll({ ...HEAD, ...rowFields(scale?.rows ?? []), bedtimeKind: 'half' })
      const at = new Map(await form.edges('bedtime'))
      expect(
        ['141', '301', '401'].map((value) => at.get(value)),
        name,
      ).toEqual(
        [
          [1, 5, 7],
          [2, 6, 8],
          [3, 7, 9],
        ][index]?.map(inWords),
      )
    }
  })

  it('2c: none at bedtime (S)', async () => {
    const form = await formAt(device, stays.tomas.stayId)
    await form.fillAll({
      ...HEAD,
      ...rowFields(PUBLISHED.find(({ name }) => name.startsWith('2c'))?.rows ?? []),
      bedtimeKind: 'none',
      tryGlucose: '351',
      tryAt: 'bedtime',
    })
    await form.says('At bedtime No correction.')
    expect(await form.tried()).toBe('0 units')
  })

  it('2d: its printed bedtime scale is refused at 301, then answered; every value is half of the meal scale’s, rounded down', async () => {
    const form = await formAt(device, stays.tomas.stayId)
    const meal = PUBLISHED.find(({ name }) => name === '2d meal')
    const typed = {
      ...HEAD,
      ...rowFields(meal?.rows ?? []),
      ...answered({ value: '301', units: 8 }),
      ...rowFields(BEDTIME_D, 'bedtime'),
      bedtimeKind: 'own-scale',
    }
    await form.fillAll(typed)
    expect(await form.refused()).toEqual({
      sentence: expect.stringContaining('301 mg/dL is in no row') as string,
      where: 'Bedtime: row 5, from',
    })
    await form.fillAll({ ...typed, bedtimeAnswered1From: '301', bedtimeAnswered1Units: '4' })
    expect(merged(await form.edges('bedtime'))).toEqual(merged(words(BEDTIME_D_EDGES)))
    const halves = new Map(await form.edges('bedtime'))
    for (const [value, answer] of await form.edges('correction')) {
      const bedtime = halves.get(value)
      if (bedtime !== undefined)
        expect([value, bedtime]).toEqual([value, inWords(Math.floor(Number.parseInt(answer, 10) / 2))])
    }
  })

  it('2a, not eating: the sensitive column in place of the usual one (S)', async () => {
    const form = await formAt(device, stays.tomas.stayId)
    const [sensitive, usual] = [PUBLISHED[0], PUBLISHED[1]]
    await form.fillAll({
      ...HEAD,
      ...rowFields(usual?.rows ?? []),
      ...rowFields(sensitive?.rows ?? [], 'notEating'),
      notEatingKind: 'own-scale',
      tryGlucose: '200',
      tryNotEating: 'yes',
    })
    expect(await form.edges('notEating')).toEqual(words(sensitive?.edges ?? []))
    expect(await form.tried()).toBe('4 units')
  })
})

describe('2f, malformed scales from print', () => {
  it.each(['mg/dL', 'mmol/L'] as const)('in %s each is refused by the value, in its row', async (unit) => {
    const on = unit === 'mg/dL' ? device : await open.signedIn(people.bo, CART)
    const form = await formAt(on, unit === 'mg/dL' ? stays.tomas.stayId : stays.ivor.stayId)
    const printed = MALFORMED.filter((one) => one.unit === unit)
    expect(printed.length).toBeGreaterThan(2)
    for (const { name, rows, names, where } of printed) {
      await form.fillAll({ ...HEAD, ...rowFields(rows) })
      expect(await form.refused(), name).toEqual({ sentence: expect.stringContaining(names) as string, where })
    }
    on.noFaults()
  })
  it('sent anyway, the form comes back with the value beside its row and the focus in it', async () => {
    const form = await formAt(device, stays.tomas.stayId)
    await form.fillAll({
      ...HEAD,
      ...rowFields(MALFORMED[0]?.rows ?? []),
      prescriber: 'Dr. Vera Kim',
      received: 'written',
    })
    await form.press('Write the order')
    await form.page.locator('[aria-invalid="true"]').first().waitFor()
    expect(await form.errorOf('row3From')).toContain('350 mg/dL is in no row')
    await form.expectFocusOn('row3From')
    expect(await form.valueOf('row3From')).toBe('over 350')
    expect(open.world.store.orderVersions(ALL, stays.tomas.stayId)).toEqual([])
  })
})

it('worked doses by factor and by carbohydrate in the preview', async () => {
  const birch = await open.signedIn(people.bo, CART)
  const forms = { 'mg/dL': await formAt(device, stays.tomas.stayId), 'mmol/L': await formAt(birch, stays.ivor.stayId) }
  for (const { name, unit, fields, rows = [], glucose, grams = '', answer, says } of WORKED) {
    const form = forms[unit]
    await form.fillAll({ ...HEAD, ...rowFields(rows), ...fields, tryGlucose: glucose, tryGrams: grams })
    expect([name, await form.refused(), await form.tried()]).toEqual([name, null, answer])
    if (says !== undefined) expect((await form.triedLines()).join(' '), name).toContain(says)
  }
})

it('typed by hand: the preview follows, Enter previews and never saves, and the saved order opens its page', async () => {
  const form = await formAt(device, stays.tomas.stayId)
  await form.page.locator('#row1From').focus()
  for (const text of ['151', '200', '2']) {
    await form.page.keyboard.type(text)
    await form.page.keyboard.press('Tab')
  }
  await form.page.locator('#row2From').focus()
  for (const text of ['over 200', '', '4']) {
    await form.page.keyboard.type(text)
    await form.page.keyboard.press('Tab')
  }
  await form.says('201 4 units')
  await form.page.keyboard.press('Enter')
  await form.says('201 4 units')
  expect(open.world.store.orderVersions(ALL, stays.tomas.stayId)).toEqual([])
  await form.select('insulin', 'insulin aspart')
  for (const name of ['atBreakfast', 'atBedtime']) await form.main.locator(`label:has(#${name})`).click()
  await form.pick('bedtimeKind', 'half')
  await form.says('At bedtime')
  await form.pick('received', 'written')
  await form.fill('prescriber', 'Dr. Vera Kim')
  await form.press('Write the order')
  await form.page.waitForURL('**/orders/*/1')
  expect(open.world.store.orderVersions(ALL, stays.tomas.stayId)).toMatchObject([
    {
      version: 1,
      verified: null,
      order: {
        insulin: 'insulin aspart',
        bedtime: { kind: 'half' },
        occasions: ['before-breakfast', 'bedtime'],
        correction: {
          scale: {
            steps: [
              { atLeast: 151, answer: 2 },
              { atLeast: 201, answer: 4 },
            ],
          },
        },
      },
    },
  ])
  device.noFaults()
})

it('without a script “Show” previews the same and saves nothing', async () => {
  const plain = await open.signedIn(people.nora, CART, { javaScriptEnabled: false })
  await plain.page.goto(`/orders/${stays.yusuf.orderId}/revise`)
  const form = await new OrderEntryPage(plain).verifyOnPage()
  await form.fill('row6From', '>401')
  await form.press('Show')
  await plain.page.waitForLoadState()
  expect((await form.refused())?.sentence).toContain('401 mg/dL is in no row')
  await form.fill('row6From', '>400')
  await form.press('Show')
  await plain.page.waitForLoadState()
  expect(await form.refused()).toBeNull()
  expect(await form.edges('correction')).toContainEqual(['401', 'no dose, call'])
  expect(open.world.store.orderVersions(ALL, stays.yusuf.stayId)).toHaveLength(1)
  await plain.close()
})

/** The same values at two neighbouring edges are one question. */
function merged(edges: readonly (readonly [string, string])[]): readonly string[] {
  return [...new Set(edges.map(([value, answer]) => `${value}: ${answer}`))].sort(
    (a, b) => Number.parseInt(a, 10) - Number.parseInt(b, 10),
  )
}
