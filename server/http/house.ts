/** The working parts that one running application holds in memory besides its services. */
import { AccessLog } from './access.ts'
import { readAssets, type Assets } from './assets.ts'
import { Attempts } from './attempts.ts'
import { newToken } from './ids.ts'
import { FormKeys } from './keys.ts'
import { NobodysPin, WARD_PIN_COST } from './pins.ts'
import type { RouteSpec, Services } from './visit.ts'

export type House = {
  /** Every route with its roles, filled as they are registered. */
  readonly routes: RouteSpec[]
  /** Changes with each start: a login made before it has ended, since the monotonic clock began anew. */
  readonly bootId: string
  /** When each login was last used, by token hash, on the monotonic clock. */
  readonly lastSeen: Map<string, number>
  readonly attempts: Attempts
  readonly accessLog: AccessLog
  readonly formKeys: FormKeys
  readonly nobodysPin: NobodysPin
  readonly assets: Assets
}

/** Builds the parts; `accessLogFailed` is told when a batch of the access log could not be written. */
export function makeHouse(services: Services, accessLogFailed: (error: unknown) => void): House {
  return {
    routes: [],
    bootId: newToken().slice(0, 12),
    lastSeen: new Map(),
    attempts: new Attempts(),
    accessLog: new AccessLog(services.store, accessLogFailed),
    formKeys: new FormKeys(services.store.secret('form-keys'), services.newId),
    nobodysPin: new NobodysPin(services.pinCost ?? WARD_PIN_COST),
    assets: readAssets(),
  }
}
