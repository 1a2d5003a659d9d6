/**
 * Holds a batch of events to the rules of shared/dose/voids.ts before it is stored: after each event come the
 * `dose-voided` of exactly the doses that it voids. A batch that leaves one out would leave a dose open that nobody may
 * give, and one that voids more is no rule's, so both are broken code. So is a step on a dose that is void by time
 * alone (policy-changed.ts), which no row says. Rows that are stored are never checked again: the rules may change, and
 * what was accepted stays.
 */
import type { Dose } from '../../shared/dose/dose.ts'
import { voidIfPolicyChanged, type VersionFrom } from '../../shared/dose/policy-changed.ts'
import { dosesVoidedBy, mayFollowVoid, type DoseVoid } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Connection } from './connection.ts'
import type { Store } from './contract.ts'
import { policyAtOf } from './policy-at.ts'

/** Asked for each event in turn, before it is applied, and `end` once after the last one. */
export type VoidCheck = { readonly before: (event: LedgerEvent) => void; readonly end: () => void }

/** Prepares the check on a connection; the answer begins one for a batch. */
export function voidChecksOf(
  connection: Connection,
  { openDosesForVoiding }: Pick<Store, 'openDosesForVoiding'>,
): () => VoidCheck {
  const mayStep = stepsOf(connection)
  return () => checkOf(openDosesForVoiding, mayStep)
}

/** Prepares the question whether a dose still takes the step that an event is. */
function stepsOf(connection: Connection): (event: LedgerEvent) => boolean {
  const policyAt = policyAtOf(connection)
  const doseFact = connection.raw.prepare<[string], { fact: string }>('SELECT fact FROM dose WHERE dose_id = ?')
  const versions = connection.raw.prepare<[string], VersionFrom>(
    'SELECT version, from_ms AS fromMs FROM policy_version WHERE ward_id = ?',
  )
  return (event) => {
    if (!isStep(event)) return true
    const text = doseFact.get(event.body.doseId)?.fact
    if (text === undefined) return true
    const dose = JSON.parse(text) as Dose
    const inForce = policyAt(dose.wardId, event.chartedAtMs)
    return (
      inForce === undefined ||
      mayFollowVoid(
        event,
        voidIfPolicyChanged(dose, inForce, () => versions.all(dose.wardId)),
      )
    )
  }
}

type Step = Extract<
  LedgerEvent,
  { type: 'second-check-answered' | 'dose-started-again' | 'dose-verified' | 'dose-given' | 'dose-not-given' }
>

function isStep(event: LedgerEvent): event is Step {
  return (
    event.type === 'second-check-answered' ||
    event.type === 'dose-started-again' ||
    event.type === 'dose-verified' ||
    event.type === 'dose-given' ||
    event.type === 'dose-not-given'
  )
}

function checkOf(
  openDosesForVoiding: Store['openDosesForVoiding'],
  mayStep: (event: LedgerEvent) => boolean,
): VoidCheck {
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
        if (!mayStep(event)) throw new Error(`${event.type} is about a dose that is settled: void`)
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
