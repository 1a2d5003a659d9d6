/** The check over HTTP: the wristband, the value, reasons for a missed check, and two nurses at once. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Reading } from '../../shared/reading/reading.ts'
import { ALL, charted, DATE, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byClass, byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { lots, meters, stays, type TestStay } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const key = (who: TestStay, slot = 'before-breakfast'): string => `${who.stayId}.${DATE}.${slot}`
const pathOf = (who: TestStay, slot?: string): string => `/checks/${key(who, slot)}`

function readings(who: TestStay): readonly Reading[] {
  return world.store.stayFacts(ALL, who.stayId, world.clock.now())?.readings ?? []
}

/** The form's own fields after the wristband was confirmed. */
async function confirmed(client: Client, path: string, who: TestStay): Promise<Readonly<Record<string, string>>> {
  const got = await client.postRaw(`${path}/patient`, { wristband: who.wristband })
  const form = formTo(got.root(), path)
  if (form === undefined) throw new Error(`no form: ${String(got.status)} ${got.words()}`)
  return form.fields
}

/** Confirms the wristband, fills in the form and sends it. */
async function send(
  client: Client,
  who: TestStay,
  fields: Readonly<Record<string, string>>,
  path = pathOf(who),
): Promise<Got> {
  return client.postRaw(path, { ...(await confirmed(client, path, who)), ...fields })
}

describe('wristband step', () => {
  it('comes first, on a page that shows the bed and not the number', async () => {
    const got = await nora.get(pathOf(stays.ruth))
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toContain('Bed 1')
    expect(got.words()).toContain('Ashby, Ruth')
    expect(got.text).not.toContain(stays.ruth.wristband)
    expect(got.headers['cache-control']).toBe('no-store')
  })

  it('opens the form with the usual values filled in for the right wristband', async () => {
    const got = await nora.postRaw(`${pathOf(stays.ruth)}/patient`, { wristband: ` ${stays.ruth.wristband} ` })
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    const form = formTo(got.root(), pathOf(stays.ruth))
    expect(form?.fields).toMatchObject({
      wristband: stays.ruth.wristband,
      glucose: '',
      finger: 'left-middle',
      meterId: meters.alder.meterId,
      stripLot: lots.good,
      takenAt: '',
      lateReason: '',
    })
    const value = byTag(got.root(), 'input').find((input) => attr(input, 'name') === 'glucose')
    expect(value === undefined ? null : [attr(value, 'autofocus'), attr(value, 'inputmode')]).toEqual(['', 'decimal'])
    expect(got.words()).toContain('Hands washed or wiped and fully dry. One single-use lancet. Meter disinfected.')
    expect(got.words()).toContain('Finger: left middle finger, not used in the last days.')
  })

  it.each([
    ['another bed’s', stays.tomas.wristband, 'It is bed 2’s.'],
    ['another ward’s, not hers', stays.gwen.wristband, 'It belongs to another ward.'],
    ['nobody’s', 'W0000', 'No patient on this ward wears it.'],
  ])(
    '%s: stops, names only the bed of the other patient, and keeps a near miss',
    async (_name, wristband, sentence) => {
      const before = world.store.lastEventAtMs()
      world.clock.advance(1)
      const got = await nora.postRaw(`${pathOf(stays.ruth)}/patient`, { wristband })
      expect(got.status).toBe(409)
      expect(await checkHtml(got.text)).toEqual([])
      const loud = byClass(got.root(), 'loud').map(textOf).join(' ')
      expect(loud).toContain('This is not the wristband of bed 1.')
      expect(loud).toContain(sentence)
      for (const { familyName } of [stays.tomas, stays.gwen]) expect(got.words()).not.toContain(familyName)
      expect(formTo(got.root(), pathOf(stays.ruth))).toBeUndefined()
      expect(world.store.lastEventAtMs()).not.toBe(before)
      expect(readings(stays.ruth)).toEqual([])
    },
  )

  it('names the ward too when the nurse works on both', async () => {
    const pia = await world.signIn(people.pia)
    const got = await pia.postRaw(`${pathOf(stays.ruth)}/patient`, { wristband: stays.gwen.wristband })
    expect(byClass(got.root(), 'loud').map(textOf).join(' ')).toContain('It is bed A’s on Birch.')
  })

  it('is verified again with the value: a wrong wristband is a conflict and kept once', async () => {
    const fields = {
      ...(await confirmed(nora, pathOf(stays.ruth), stays.ruth)),
      glucose: '112',
      wristband: stays.tomas.wristband,
    }
    world.clock.advance(1)
    const got = await nora.postRaw(pathOf(stays.ruth), fields)
    expect([got.status, readings(stays.ruth).length]).toEqual([409, 0])
    expect(got.words()).toContain('It is bed 2’s.')
    const after = charted(world, stays.ruth)
    await nora.postRaw(pathOf(stays.ruth), fields)
    expect(charted(world, stays.ruth)).toBe(after)
  })

  it('comes again when the form is reloaded', async () => {
    expect((await nora.get(`${pathOf(stays.ruth)}/patient`)).location).toBe(pathOf(stays.ruth))
  })
})

describe('value', () => {
  it('is charted with one scan, three digits and Enter', async () => {
    const scan = await nora.postRaw('/scan', { wristband: stays.tomas.wristband })
    const form = formTo(scan.root(), pathOf(stays.tomas))
    expect(scan.status).toBe(200)
    const got = await nora.postRaw(pathOf(stays.tomas), { ...form?.fields, glucose: '112' })
    expect(got.status).toBe(303)
    expect(readings(stays.tomas)).toMatchObject([
      {
        checkKey: key(stays.tomas),
        glucose: { unit: 'mg/dL', value: 112 },
        source: 'capillary',
        takenAtMs: world.clock.now(),
        chartedAtMs: world.clock.now(),
        wardDate: DATE,
        byId: people.nora.staffId,
        site: { hand: 'left', finger: 'middle' },
        meterId: meters.alder.meterId,
        stripLot: lots.good,
        doubts: [],
        lateReason: null,
        extraReason: null,
      },
    ])
    expect(got.location).toBe(`/readings/${readings(stays.tomas)[0]?.readingId ?? ''}`)
  })

  it.each([
    ['LO', 'LO'],
    ['hi', 'HI'],
    ['20', 20],
    ['600', 600],
  ] as const)('accepts %s', async (typed, value) => {
    expect((await send(nora, stays.tomas, { glucose: typed })).status).toBe(303)
    expect(readings(stays.tomas)[0]?.glucose.value).toBe(value)
  })

  it.each([
    ['glucose', { glucose: '6.2' }, '“6.2” looks like mmol/L'],
    ['glucose', { glucose: '1120' }, 'is not possible'],
    ['glucose', { glucose: 'abc' }, 'Type digits as the meter shows them in mg/dL'],
    ['glucose', { glucose: '' }, 'Type the value that the meter shows'],
    ['meterId', { glucose: '112', meterId: meters.birch.meterId }, 'not one of this ward’s'],
    ['meterId', { glucose: '112', meterId: '' }, 'Choose the meter that was used.'],
    ['stripLot', { glucose: '112', stripLot: 'L9' }, 'not one of this ward’s'],
    ['finger', { glucose: '112', finger: 'left-thumb' }, 'Choose the finger.'],
    ['takenAt', { glucose: '112', takenAt: '07:21' }, 'has not come yet'],
    ['takenAt', { glucose: '112', takenAt: '2026-03-08T07:00', lateReason: 'other' }, 'before the patient’s admission'],
    ['takenAt', { glucose: '112', takenAt: 'soon' }, 'Type the time as hours and minutes'],
    ['takenAt', { glucose: '112', takenAt: '06:50', lateReason: 'other' }, 'This check opens at 07:00.'],
    ['lateReason', { glucose: '112', takenAt: '07:04' }, 'More than 15 minutes ago: choose why it is charted late.'],
    ['lateReason', { glucose: '112', takenAt: '07:04', lateReason: 'lazy' }, 'Choose one of these.'],
  ])(
    'refuses a wrong %s: %j comes back filled in with a message and writes nothing',
    async (field, fields, sentence) => {
      const before = charted(world, stays.tomas)
      const got = await send(nora, stays.tomas, fields)
      expect(got.status).toBe(422)
      expect(errorOf(got.root(), field)).toContain(sentence)
      expect(await checkHtml(got.text)).toEqual([])
      const again = formTo(got.root(), pathOf(stays.tomas))?.fields
      for (const [name, value] of Object.entries(fields))
        if (name !== 'finger' && name !== 'meterId' && name !== 'stripLot' && value !== 'lazy')
          expect(again?.[name]).toBe(value)
      expect(charted(world, stays.tomas)).toBe(before)
    },
  )

  it('needs no reason within 15 min; later it does, and both times are kept', async () => {
    expect((await send(nora, stays.tomas, { glucose: '112', takenAt: '07:05' })).status).toBe(303)
    expect((await send(nora, stays.leo, { glucose: '112', takenAt: '07:04', lateReason: 'forgotten' })).status).toBe(
      303,
    )
    expect(readings(stays.leo)[0]).toMatchObject({
      takenAtMs: alderTime(`${DATE}T07:04`),
      chartedAtMs: world.clock.now(),
      lateReason: 'forgotten',
    })
  })

  it('refuses a restricted hand with its reason; the other is accepted', async () => {
    const got = await send(nora, stays.yusuf, { glucose: '112', finger: 'left-ring' })
    expect([got.status, errorOf(got.root(), 'finger')]).toEqual([
      422,
      '▲ Do not prick the left hand (drip). Use the other hand.',
    ])
    expect((await send(nora, stays.yusuf, { glucose: '112' })).status).toBe(303)
    expect(readings(stays.yusuf)[0]?.site?.hand).toBe('right')
  })

  it('is charted as in doubt with a meter without today’s control', async () => {
    expect(
      (
        await send(nora, stays.tomas, {
          glucose: '112',
          meterId: meters.alderNoControl.meterId,
          stripLot: lots.expired,
        })
      ).status,
    ).toBe(303)
    expect(readings(stays.tomas)[0]?.doubts).toEqual(['meter-control-not-done', 'strip-lot-expired'])
  })

  it('fills in the login’s last meter at the next check', async () => {
    await send(nora, stays.tomas, { glucose: '112', meterId: meters.alderNoControl.meterId })
    expect((await confirmed(nora, pathOf(stays.leo), stays.leo))['meterId']).toBe(meters.alderNoControl.meterId)
  })

  it('never suggests the last finger again', async () => {
    await send(nora, stays.tomas, { glucose: '112' })
    const extra = (await nora.get(`/stays/${stays.tomas.stayId}/extra`)).location ?? ''
    expect((await confirmed(nora, extra, stays.tomas))['finger']).not.toBe('left-middle')
  })

  it('requires the decimal point on a mmol/L ward', async () => {
    const bo = await world.signIn(people.bo)
    world.clock.set(alderTime('2026-03-10T03:00'))
    const path = pathOf(stays.gwen)
    const refusal = async (glucose: string): Promise<string | null> =>
      errorOf((await send(bo, stays.gwen, { glucose }, path)).root(), 'glucose')
    expect(await refusal('28')).toContain('could be 2.8 or 28.0')
    expect(await refusal('112')).toContain('looks like mg/dL')
    expect((await send(bo, stays.gwen, { glucose: '6.2' }, path)).status).toBe(303)
    expect(readings(stays.gwen)[0]?.glucose).toEqual({ unit: 'mmol/L', value: 62 })
  })
})

describe('repeated and concurrent checks', () => {
  it('charts the same form once and answers it the same', async () => {
    const fields = { ...(await confirmed(nora, pathOf(stays.tomas), stays.tomas)), glucose: '112' }
    const [first, second] = [
      await nora.postRaw(pathOf(stays.tomas), fields),
      await nora.postRaw(pathOf(stays.tomas), fields),
    ]
    expect([first.status, second.status, second.location, readings(stays.tomas).length]).toEqual([
      303,
      303,
      first.location,
      1,
    ])
    expect((await nora.postRaw(pathOf(stays.tomas), { ...fields, glucose: '113' })).status).toBe(409)
    expect(readings(stays.tomas).length).toBe(1)
  })

  it('charts one of two nurses’ checks; the other gets 409 with what was and was not charted', async () => {
    const omar = await world.signIn(people.omar)
    const [a, b] = [
      await confirmed(nora, pathOf(stays.tomas), stays.tomas),
      await confirmed(omar, pathOf(stays.tomas), stays.tomas),
    ]
    const [first, second] = await Promise.all([
      nora.postRaw(pathOf(stays.tomas), { ...a, glucose: '112' }),
      omar.postRaw(pathOf(stays.tomas), { ...b, glucose: '115' }),
    ])
    const [won, lost] = first.status === 303 ? [first, second] : [second, first]
    expect([won.status, lost.status, readings(stays.tomas).length]).toEqual([303, 409, 1])
    const kept = readings(stays.tomas)[0]
    const lostValue = kept?.glucose.value === 112 ? '115' : '112'
    expect(lost.words()).toContain(`${String(kept?.glucose.value)} mg/dL`)
    expect(lost.words()).toContain(`Your value “${lostValue}” was not charted.`)
    expect(await checkHtml(lost.text)).toEqual([])
  })

  it('says that a check is already charted, without its value for a possible second checker', async () => {
    await takeReading(nora, stays.ruth, '187')
    const omar = await world.signIn(people.omar)
    const got = await omar.get(pathOf(stays.ruth))
    expect(got.words()).toContain('Taken at 07:20 by Nora Lind: awaiting second check.')
    expect(got.text).not.toContain('187')
    expect((await nora.get(pathOf(stays.ruth))).words()).toContain('187 mg/dL')
  })

  it.each([
    ['nobody', null, 303],
    ['an educator', people.edda, 403],
    ['an administrator', people.anna, 403],
    ['a nurse of another ward', people.bo, 404],
  ] as const)('refuses %s and writes nothing', async (_name, person, status) => {
    const client = person === null ? world.visitor() : await world.signIn(person)
    const fields = { ...(await confirmed(nora, pathOf(stays.tomas), stays.tomas)), glucose: '112' }
    const before = charted(world, stays.tomas)
    const got = await Promise.all([
      client.get(pathOf(stays.tomas)),
      client.postRaw(`${pathOf(stays.tomas)}/patient`, { wristband: stays.tomas.wristband }),
      client.get(`/stays/${stays.tomas.stayId}/extra`),
      client.get(`${pathOf(stays.tomas)}/excuse`),
    ])
    expect(got.map((one) => one.status)).toEqual([status, status, status, status])
    const posted = await client.postRaw(pathOf(stays.tomas), fields)
    expect([303, 403, 404, 409]).toContain(posted.status)
    expect(posted.location ?? '/sign-in').toMatch(/^\/sign-in/)
    for (const one of [...got, posted]) expect(one.text).not.toContain(stays.tomas.familyName)
    expect(charted(world, stays.tomas)).toBe(before)
  })

  it.each([
    'x',
    'stay.x.y',
    `${stays.ruth.stayId}.2026-03-10.t0400`,
    `${stays.ruth.stayId}.2026-02-30.bedtime`,
    'low.nolow00000000000.1',
    `extra.${'x'.repeat(16)}.1`,
    `${stays.ruth.stayId}.2026-03-10.before-breakfast.1`,
  ])('answers 404 for a check %s', async (none) => {
    expect((await nora.get(`/checks/${none}`)).status).toBe(404)
    expect((await nora.postRaw(`/checks/${none}/patient`, { wristband: stays.ruth.wristband })).status).toBe(404)
  })
})

describe('forty malformed posts', () => {
  it('answers 422 for malformed values and writes nothing', async () => {
    const good = await confirmed(nora, pathOf(stays.tomas), stays.tomas)
    const { key: oneTime = '', ...fields } = { ...good, glucose: '112' }
    const before = charted(world, stays.tomas)
    for (const { name, body } of malformedPosts(fields, oneTime, 'glucose')) {
      const got = await nora.postRaw(pathOf(stays.tomas), body)
      expect([name, got.status]).toEqual([name, 422])
      expect([name, await checkHtml(got.text)]).toEqual([name, []])
      expect([name, charted(world, stays.tomas)]).toEqual([name, before])
    }
    expect((await nora.postRaw(pathOf(stays.tomas), { ...fields, key: oneTime })).status).toBe(303)
  })

  it('answers 422 for a malformed time or finger and writes nothing', async () => {
    const good = await confirmed(nora, pathOf(stays.tomas), stays.tomas)
    const { key: oneTime = '', ...fields } = { ...good, glucose: '112', takenAt: '07:20' }
    const before = charted(world, stays.tomas)
    for (const strict of ['finger', 'meterId', 'wristband']) {
      for (const { name, body } of malformedPosts(fields, oneTime, strict)) {
        const got = await nora.postRaw(pathOf(stays.tomas), body)
        // a malformed wristband that could be real is a wrong wristband
        expect([strict, name, strict === 'wristband' && got.status === 409 ? 422 : got.status]).toEqual([
          strict,
          name,
          422,
        ])
      }
      if (strict !== 'wristband') expect(charted(world, stays.tomas)).toBe(before)
      expect(readings(stays.tomas)).toEqual([])
    }
  })

  it('refuses malformed wristband and excuse forms', async () => {
    for (const { name, body } of malformedPosts({ wristband: stays.tomas.wristband }, null, 'wristband')) {
      const got = await nora.postRaw(`${pathOf(stays.tomas)}/patient`, body)
      expect([name, [409, 422].includes(got.status)]).toEqual([name, true])
      expect([name, formTo(got.root(), pathOf(stays.tomas))]).toEqual([name, undefined])
    }
    const path = `${pathOf(stays.tomas)}/excuse`
    const oneTime = await nora.keyOf(path)
    const before = charted(world, stays.tomas)
    for (const { name, body } of malformedPosts({ reason: 'refused', note: '' }, oneTime, 'reason')) {
      const got = await nora.postRaw(path, body)
      expect([name, got.status]).toEqual([name, 422])
      expect([name, await checkHtml(got.text)]).toEqual([name, []])
    }
    expect(charted(world, stays.tomas)).toBe(before)
  })
})

describe('a check that was not done', () => {
  const path = `${pathOf(stays.tomas)}/excuse`
  const outcome = (): unknown =>
    world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.outcomes.get(key(stays.tomas))

  it('is excused once, with a reason', async () => {
    expect(await checkHtml((await nora.get(path)).text)).toEqual([])
    const oneTime = await nora.keyOf(path)
    const got = await nora.postRaw(path, { reason: 'off-the-ward', note: 'in theatre', key: oneTime ?? '' })
    expect([got.status, got.location]).toEqual([303, '/round'])
    expect(outcome()).toMatchObject({
      kind: 'excused',
      reason: 'off-the-ward',
      note: 'in theatre',
      byId: people.nora.staffId,
    })
    const again = await nora.post(path, { reason: 'refused', note: '' })
    expect(again.status).toBe(409)
    expect(again.words()).toContain('Excused at 07:20 by Nora Lind: Off the ward (in theatre).')
  })

  it('can still be done afterwards', async () => {
    await nora.post(path, { reason: 'off-the-ward', note: '' })
    expect((await send(nora, stays.tomas, { glucose: '112' })).status).toBe(303)
    expect(outcome()).toMatchObject({ kind: 'done' })
  })

  it('offers other reasons once missed; “another reason” needs a note', async () => {
    world.clock.stepWardTime(130)
    const page = await nora.get(path)
    expect(page.words()).toContain('why was it missed?')
    expect(page.words()).toContain('Too much to do at once')
    const wrong = await nora.post(path, { reason: 'order-changed', note: '' })
    expect([wrong.status, errorOf(wrong.root(), 'reason')?.includes('Choose one of the reasons shown')]).toEqual([
      422,
      true,
    ])
    const bare = await nora.post(path, { reason: 'other', note: '' })
    expect([bare.status, errorOf(bare.root(), 'note')?.includes('Say in a few words')]).toEqual([422, true])
    expect((await nora.post(path, { reason: 'workload', note: '' })).status).toBe(303)
  })

  it('cannot be excused when it is a recheck after a low', async () => {
    await takeReading(nora, stays.tomas, '52')
    const low = world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.lows[0]
    const got = await nora.post(`/checks/low.${low?.lowId ?? ''}.1/excuse`, { reason: 'refused', note: '' })
    expect(got.status).toBe(409)
    expect(got.words()).toContain('A recheck after a low stays until a value shows recovery.')
  })
})

describe('without a planned check', () => {
  it('charts an extra check with its own key and a reason', async () => {
    const path = (await nora.get(`/stays/${stays.tomas.stayId}/extra`)).location ?? ''
    expect(path).toMatch(new RegExp(`^/checks/extra\\.${stays.tomas.stayId}\\.[a-z0-9]{16}$`))
    const none = await send(nora, stays.tomas, { glucose: '112' }, path)
    expect([none.status, errorOf(none.root(), 'extraReason')]).toEqual([422, '▲ Choose why this extra check is done.'])
    expect((await send(nora, stays.tomas, { glucose: '112', extraReason: 'symptoms' }, path)).status).toBe(303)
    expect(readings(stays.tomas)[0]).toMatchObject({ extraReason: 'symptoms' })
  })

  it('fills in the repeat’s reason after a critical value', async () => {
    await takeReading(nora, stays.tomas, '500')
    const path = (await nora.get(`/stays/${stays.tomas.stayId}/extra`)).location ?? ''
    expect((await confirmed(nora, path, stays.tomas))['extraReason']).toBe('repeat-of-critical')
  })

  it('charts a value after closing as extra; the check stays missed', async () => {
    world.clock.stepWardTime(130)
    expect((await send(nora, stays.tomas, { glucose: '112' })).status).toBe(303)
    expect(readings(stays.tomas)[0]).toMatchObject({ checkKey: null, extraReason: 'after-closing' })
    expect(world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.outcomes.size).toBe(0)
  })
})
