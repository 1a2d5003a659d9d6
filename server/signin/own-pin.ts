/** Changing one's own PIN with the old one. Every other login of the person ends. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { pinFault, pinSet, type PinFault } from '../../shared/staff/pin.ts'
import { ownPinPage } from '../../views/signin/pin.ts'
import { IDENTIFY_SENTENCES, type IdentifyRefusal } from '../../views/words/http.ts'
import { OWN_PIN_SENTENCES } from '../../views/words/people.ts'
import { formRoute } from '../http/forms.ts'
import { hashPin } from '../http/pins.ts'
import { identify } from '../http/identify.ts'
import { EVERYBODY } from '../http/roles.ts'
import type { Server } from '../http/route.ts'
import { queryText } from '../http/parameters.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { OWN_PIN_FORM } from './forms.ts'

type Fields = z.output<typeof OWN_PIN_FORM>
type Refusal = PinFault | 'pin-same' | IdentifyRefusal

/** `changed`: "yes" when the PIN was changed just now. */
const CHANGED_QUERY = z.object({ changed: queryText })

export function registerOwnPin(server: Server): void {
  formRoute(server, { url: '/my-pin', roles: EVERYBODY, query: CHANGED_QUERY, spec: ownPinSpec })
}

const ownPinSpec: FormSpec<Fields, Refusal, RequestContext<object, z.output<typeof CHANGED_QUERY>>, string> = {
  name: 'own-pin',
  schema: OWN_PIN_FORM,
  initial: () => ({}),
  draw: ({ query, request }, state) => ({
    title: 'Your PIN',
    body: ownPinPage({ state, changed: query.changed === 'yes' && request.method === 'GET' }),
  }),
  before: prove,
  decide: (_fields, ctx, hash) =>
    accept({
      events: [pinSet(ctx.actor.staffId, 'self', ctx.nowMs)],
      location: '/my-pin?changed=yes',
      effects: [{ kind: 'set-own-pin', hash }],
    }),
  sentences: { ...OWN_PIN_SENTENCES, ...IDENTIFY_SENTENCES, 'identify-wrong': () => 'This is not your present PIN.' },
  fieldOf: {
    'pin-not-digits': 'pin',
    'pin-easy': 'pin',
    'pin-of-badge': 'pin',
    'pin-same': 'pin',
    'identify-wrong': 'oldPin',
    'identify-locked': 'oldPin',
    'identify-too-many': 'oldPin',
  },
  statusOf: {},
  secretFields: ['oldPin', 'pin', 'pinAgain'],
}

/** The new PIN's hash, once the old PIN was right. What is wrong with the new one is said first: that is no attempt. */
async function prove({ oldPin, pin }: Fields, ctx: RequestContext): Promise<Outcome<string, Refusal>> {
  const fault = pinFault(pin, ctx.actor.badge)
  if (fault !== null) return refuse(fault)
  const person = await identify(ctx, ctx.actor.badge, oldPin)
  if (!person.ok) return person
  return pin === oldPin ? refuse('pin-same') : accept(await hashPin(pin, ctx.services.pinCost))
}
