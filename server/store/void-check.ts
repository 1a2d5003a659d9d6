/**
 * Holds a batch of events to the rules of shared/dose/voids.ts before it is stored: after each event come the
 * `dose-voided` of exactly the doses that it voids. A batch that leaves one out would leave a dose open that nobody may
 * give, and one that voids more is no rule's, so both are broken code. Rows that are stored are never checked again:
 * the rules may change, and what was accepted stays.
 */
import { dosesVoidedBy, type DoseVoid } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Store } from './contract.ts'

/** Asked for each event in turn, before it is applied, and `end` once after the last one. */
export type VoidCheck = { readonly before: (event: LedgerEvent) => void; readonly end: () => void }

export function voidCheckOf({ openDosesForVoiding }: Pick<Store, 'openDosesForVoiding'>): VoidCheck {
  let owed: readonly DoseVoid[] = []
  let owedBy = ''
  const end = (): void => {
    const [first] = owed
    if (first !== undefined)
      throw new Error(`dose ${first.doseId} is void (${first.reason}) after ${owedBy}, and no event says so`)
  }
  return {
    before: (event) => {
      if (event.type !== 'dose-voided') {
        end()
        owed = dosesVoidedBy(event, openDosesForVoiding(event))
        owedBy = event.type
        return
      }
      const { doseId, reason } = event.body
      if (!owed.some((one) => one.doseId === doseId && one.reason === reason))
        throw new Error(`nothing voids dose ${doseId} (${reason})`)
      owed = owed.filter((one) => one.doseId !== doseId)
    },
    end,
  }
}
