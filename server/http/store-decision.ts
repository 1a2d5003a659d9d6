/** Stores what a form was decided to: the events, and what changes beside the ledger. */
import { storeEvents } from '../store/store-events.ts'
import { recordPatientRead } from './access-log.ts'
import type { Effect, FormDecision, RequestContext } from './request-context.ts'

/** Stores the decision in the running transaction, so that all of it is there or none. */
export function storeDecision(ctx: RequestContext, { events, effects = [] }: FormDecision): void {
  storeEvents(ctx.store, events)
  for (const effect of effects) storeEffect(ctx, effect)
}

function storeEffect(ctx: RequestContext, effect: Effect): void {
  const { store, tokenHash } = ctx
  switch (effect.kind) {
    case 'choose-ward':
      store.touchSession(tokenHash, { wardId: effect.wardId, meterId: effect.meterId })
      return
    case 'session-meter':
      if (effect.meterId !== ctx.meterId) store.touchSession(tokenHash, { meterId: effect.meterId })
      return
    case 'set-own-pin': {
      const { staffId } = ctx.actor
      const own = store.session(tokenHash)
      store.setPinHash(staffId, effect.hash)
      // a code made for a PIN that was forgotten is of no use any more
      store.dropPinCode(staffId)
      store.dropSessionsOf(staffId)
      if (own !== undefined) store.putSession(own)
      return
    }
    case 'make-pin-code': {
      const { staffId, code, hash, expiresAtMs } = effect
      store.putPinCode({ staffId, codeHash: hash, expiresAtMs })
      ctx.appContext.madeCodes.put(tokenHash, staffId, code, ctx.services.mono())
      return
    }
    case 'end-logins':
      store.dropSessionsOf(effect.staffId)
      return
    case 'drop-pin-code':
      store.dropPinCode(effect.staffId)
      return
    case 'patient-reads':
      for (const stayId of effect.stayIds) recordPatientRead(ctx, stayId)
  }
}
