/**
 * The one-time code with which people set their PIN. It appears on one response page only. It is stored as a hash, is
 * in no address, log or draft, and is removed from memory once shown.
 */
import { randomInt } from 'node:crypto'
import type { z } from 'zod'
import { accept, refuse, sentenceOf, type Outcome } from '../../shared/outcome.ts'
import { mayHaveCode, type StaffRefusal } from '../../shared/staff/change.ts'
import { PIN_CODE_HOURS, PIN_CODE_LENGTH, PIN_CODE_LETTERS, pinCodeMade } from '../../shared/staff/pin.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { codePage, codeShownPage } from '../../views/setup/people-forms.ts'
import { STAFF_SENTENCES } from '../../views/words/people.ts'
import { hashPin } from '../http/pins.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { BUTTON_FORM, drawAbout } from './people-forms.ts'
import { personOf, staffFacts, type PersonRequest } from './people-load.ts'

type MadeCode = { readonly code: string; readonly hash: string }

function newCode(): string {
  // randomInt is unbiased
  return Array.from({ length: PIN_CODE_LENGTH }, () =>
    PIN_CODE_LETTERS.charAt(randomInt(PIN_CODE_LETTERS.length)),
  ).join('')
}

export const pinCodeSpec: FormSpec<z.output<typeof BUTTON_FORM>, StaffRefusal, PersonRequest, MadeCode> = {
  name: 'person-pin-code',
  schema: BUTTON_FORM,
  initial: () => ({}),
  draw: (ctx, state) => {
    const {
      services: { mono },
      appContext: { madeCodes },
      request,
      tokenHash,
    } = ctx
    return drawAbout(ctx, state, 'Code for a PIN', (view) => {
      const code = request.method === 'GET' ? madeCodes.take(tokenHash, view.staffId, mono()) : null
      if (code !== null) return codeShownPage({ ...view, code, hours: PIN_CODE_HOURS })
      const person = personOf(ctx)
      return codePage({
        ...view,
        hasPin: ctx.store.pinHash(view.staffId) !== undefined,
        hours: PIN_CODE_HOURS,
        closed: person === undefined ? null : closedBecause(ctx, person),
      })
    })
  },
  before: async (_fields, ctx) => {
    const code = newCode()
    return accept({ code, hash: await hashPin(code, ctx.services.pinCost) })
  },
  decide: (_fields, ctx, { code, hash }) => {
    const person = personOf(ctx)
    if (person === undefined) return refuse('no-such-person')
    const allowed: Outcome<null, StaffRefusal> = mayHaveCode(person, staffFacts(ctx, person.wardIds))
    if (!allowed.ok) return allowed
    const { staffId } = person
    const expiresAtMs = ctx.nowMs + PIN_CODE_HOURS * HOUR_MS
    return accept({
      events: [pinCodeMade(staffId, ctx.actor.staffId, ctx.nowMs)],
      location: `/setup/people/${staffId}/pin-code`,
      effects: [{ kind: 'make-pin-code', staffId, code, hash, expiresAtMs }],
    })
  },
  sentences: STAFF_SENTENCES,
  fieldOf: {},
  statusOf: { 'no-such-person': 404, 'own-code': 403, 'has-left': 409, 'locked-first': 409 },
}

/** Why no code can be made, shown before anybody submits the form. */
function closedBecause(ctx: RequestContext, person: NonNullable<ReturnType<typeof personOf>>): string | null {
  const allowed = mayHaveCode(person, staffFacts(ctx, person.wardIds))
  return allowed.ok ? null : sentenceOf(STAFF_SENTENCES, allowed)
}
