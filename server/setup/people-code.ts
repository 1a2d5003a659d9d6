/**
 * The one-time code with which people set their PIN. It appears on one response page only. It is stored as a hash, is
 * in no address, log or draft, and is removed from memory once shown.
 */
import { randomInt } from 'node:crypto'
import type { z } from 'zod'
import { accept, refuse, sentenceOf, type Outcome } from '../../shared/outcome.ts'
import { mayHaveCode, type StaffRefusal } from '../../shared/staff/change.ts'
import { PIN_CODE_HOURS, PIN_CODE_LENGTH, PIN_CODE_LETTERS, pinCodeMade } from '../../shared/staff/pin.ts'
import { HOUR_MS, MINUTE_MS } from '../../shared/time/span.ts'
import { codePage, codeShownPage } from '../../views/setup/people-forms.ts'
import { STAFF_SENTENCES } from '../../views/words/people.ts'
import { hashPin } from '../http/pins.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { BUTTON_FORM } from './people-forms.ts'
import { personOf, staffFacts, type PersonRequest } from './people-load.ts'
import { drawAbout } from './people-specs.ts'

type MadeCode = { readonly code: string; readonly hash: string }

/** How long a new code waits in memory for its page. The browser requests the page at once. */
const WAITS_MS = 2 * MINUTE_MS

/** Codes between the redirect to their page and that page: one for each session, readable once. */
class WaitingCodes {
  readonly #waiting = new Map<string, { readonly staffId: string; readonly code: string; readonly monoMs: number }>()

  put(tokenHash: string, staffId: string, code: string, monoMs: number): void {
    this.#dropOld(monoMs)
    this.#waiting.set(tokenHash, { staffId, code, monoMs })
  }

  take(tokenHash: string, staffId: string, monoMs: number): string | null {
    this.#dropOld(monoMs)
    const waiting = this.#waiting.get(tokenHash)
    if (waiting?.staffId !== staffId) return null
    this.#waiting.delete(tokenHash)
    return waiting.code
  }

  #dropOld(monoMs: number): void {
    for (const [tokenHash, waiting] of this.#waiting)
      if (monoMs - waiting.monoMs >= WAITS_MS) this.#waiting.delete(tokenHash)
  }
}

function newCode(): string {
  // randomInt is unbiased
  return Array.from({ length: PIN_CODE_LENGTH }, () =>
    PIN_CODE_LETTERS.charAt(randomInt(PIN_CODE_LETTERS.length)),
  ).join('')
}

/** The form of one running application. */
export function pinCodeSpec(): FormSpec<z.output<typeof BUTTON_FORM>, StaffRefusal, PersonRequest, MadeCode> {
  const waiting = new WaitingCodes()
  return {
    name: 'person-pin-code',
    schema: BUTTON_FORM,
    initial: () => ({}),
    draw: (ctx, state) => {
      const {
        services: { mono },
        request,
        tokenHash,
      } = ctx
      return drawAbout(ctx, state, 'Code for a PIN', (view) => {
        const code = request.method === 'GET' ? waiting.take(tokenHash, view.staffId, mono()) : null
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
      const also = (): void => {
        ctx.store.putPinCode({ staffId, codeHash: hash, expiresAtMs: ctx.nowMs + PIN_CODE_HOURS * HOUR_MS })
        waiting.put(ctx.tokenHash, staffId, code, ctx.services.mono())
      }
      return accept({
        events: [pinCodeMade(staffId, ctx.actor.staffId, ctx.nowMs)],
        location: `/setup/people/${staffId}/pin-code`,
        also,
      })
    },
    sentences: STAFF_SENTENCES,
    fieldOf: {},
    statusOf: { 'no-such-person': 404, 'own-code': 403, 'has-left': 409, 'locked-first': 409 },
  }
}

/** Why no code can be made, shown before anybody submits the form. */
function closedBecause(ctx: RequestContext, person: NonNullable<ReturnType<typeof personOf>>): string | null {
  const allowed = mayHaveCode(person, staffFacts(ctx, person.wardIds))
  return allowed.ok ? null : sentenceOf(STAFF_SENTENCES, allowed)
}
