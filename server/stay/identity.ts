/** GET and POST /stays/:stayId/identity: corrects a name, date of birth or wristband, or replaces a wristband. */
import { z } from 'zod'
import { identifyStay, type IdentityRefusal } from '../../shared/stay/identity.ts'
import { identityForm } from '../../views/stay/identity.ts'
import { IDENTITY_SENTENCES, STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import { IDENTITY_FIELDS, IDENTITY_FIELD_OF } from './admit.ts'
import { reasonField } from './fields.ts'
import { decideStay, drawStay, wornElsewhere } from './load.ts'

const IDENTITY_FORM = z.strictObject({ ...IDENTITY_FIELDS, reason: reasonField('Say why it is changed.') })

export const identitySpec: FormSpec<z.output<typeof IDENTITY_FORM>, IdentityRefusal | 'stay-gone', StayRequest> = {
  name: 'stay-identity',
  schema: IDENTITY_FORM,
  initial: (ctx) => {
    const stay = stayOfAddress(ctx)?.stay
    return stay === undefined
      ? {}
      : { wristband: stay.wristband, familyName: stay.familyName, givenName: stay.givenName, bornOn: stay.bornOn }
  },
  draw: (ctx, state) => drawStay(ctx, 'Name and identifiers', state, (view) => identityForm(view)),
  decide: (fields, ctx) =>
    decideStay(
      ctx,
      ({
        stay,
        policy: {
          policy: { zone },
        },
      }) => {
        const { reason, ...identity } = fields
        return identifyStay(
          { identity, reason, byId: ctx.actor.staffId },
          { stay, worn: wornElsewhere(ctx, identity.wristband, stay.stayId), nowMs: ctx.nowMs, zone },
        )
      },
    ),
  sentences: { ...IDENTITY_SENTENCES, ...STAY_GONE },
  fieldOf: { ...IDENTITY_FIELD_OF, 'identity-reason-missing': 'reason' },
  statusOf: { 'identity-wristband-worn': 409, 'stay-gone': 404 },
}
