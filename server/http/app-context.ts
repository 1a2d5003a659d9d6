/** The working parts that one running application holds in memory besides its services. */
import { AccessLog } from './access-batch.ts'
import { readAssets, type Assets } from './assets.ts'
import { Attempts } from './attempts.ts'
import { newToken } from './ids.ts'
import { FormKeys } from './keys.ts'
import { MadeCodes } from './made-codes.ts'
import { Metrics } from './metrics.ts'
import { DecoyPinHash, WARD_PIN_COST } from './pins.ts'
import type { RouteSpec } from './route-spec.ts'
import type { Services } from './services.ts'

export type AppContext = {
  /** Every route with its roles, filled as they are registered. */
  readonly routes: RouteSpec[]
  /** Changes with each start: a login made before it has ended, since the monotonic clock began anew. */
  readonly bootId: string
  /** When each login was last used, by token hash, on the monotonic clock. */
  readonly lastSeen: Map<string, number>
  readonly attempts: Attempts
  readonly accessLog: AccessLog
  readonly formKeys: FormKeys
  readonly decoyPinHash: DecoyPinHash
  readonly madeCodes: MadeCodes
  readonly assets: Assets
  /** What is counted for a collector; null where nobody may collect. */
  readonly metrics: Metrics | null
}

type AppCallbacks = {
  /** when a batch of the access log could not be written */
  readonly accessLogFailed: (error: unknown) => void
  /** when the attempts of a badge, or from an address, have used up their limit */
  readonly attemptsUsedUp: (address: string) => void
}

/** Builds the parts, and says who is told of what. */
export function makeAppContext(services: Services, callbacks: AppCallbacks): AppContext {
  return {
    routes: [],
    bootId: newToken().slice(0, 12),
    lastSeen: new Map(),
    attempts: new Attempts(callbacks.attemptsUsedUp),
    accessLog: new AccessLog(services.store, callbacks.accessLogFailed),
    formKeys: new FormKeys(services.store.secret('form-keys'), services.newId),
    decoyPinHash: new DecoyPinHash(services.pinCost ?? WARD_PIN_COST),
    madeCodes: new MadeCodes(),
    assets: readAssets(),
    metrics: services.config.metricsToken === null ? null : new Metrics(services),
  }
}
