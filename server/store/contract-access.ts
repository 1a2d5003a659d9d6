/** The log of who looked at whom: what is written to it, and what an administrator's report asks of it. */
import type { Role } from '../../shared/ledger/events.ts'
import type { Scope } from './contract-scope.ts'

/**
 * patient: one patient was shown. ward: a page on which a ward's patients stand. refused: a patient was asked for and
 * not shown. report: somebody asked this log.
 */
export type AccessKind = 'patient' | 'ward' | 'refused' | 'report'

/** One line to write. What is left out was not noted. */
export type AccessEntry = {
  readonly atMs: number
  readonly staffId: string
  readonly stayId: string | null
  /** The ward that the login had chosen; of a ward's page and of a report about a ward, that ward. */
  readonly wardId: string | null
  /** The route's pattern, never an address. */
  readonly page: string
  readonly requestId: string
  /** 'patient' with a stay, 'ward' without one, unless said otherwise. */
  readonly kind?: AccessKind
  /** The ward on which the patient lay at that moment; looked up when it is written where it is left out. */
  readonly ofWardId?: string
  /** The person's role, and the wards that were hers. */
  readonly role?: Role
  readonly ownWardIds?: readonly string[]
  /** Of a refusal: the id in the address, of whatever it is, and whether the role was refused. Written only when it is a patient's. */
  readonly askedFor?: { readonly id: string; readonly byRole: boolean }
  /** Of a report: the person it was about. */
  readonly subjectId?: string
}

/** One question to the log. From is in, to is out. */
export type AccessAsked = {
  readonly by: 'patient' | 'person' | 'ward'
  readonly id: string
  readonly fromMs: number
  readonly toMs: number
}

/** Where a page of rows begins: after this one, going back in time. */
export type AccessPlace = { readonly atMs: number; readonly accessId: number }

export type AccessRow = AccessPlace & {
  readonly staffId: string
  readonly role: Role | null
  readonly kind: AccessKind
  readonly page: string
  readonly requestId: string
  readonly stayId: string | null
  readonly wristband: string | null
  /** The ward whose patients were shown, asked for or reported on. */
  readonly wardId: string | null
  /** False: the person did not belong to that ward then. Null: not noted. */
  readonly ownWard: boolean | null
  readonly subjectId: string | null
}

/** One person's part of an answer. Counts are rows; `foreign` are those of wards that were not the person's. */
export type AccessTotal = {
  readonly staffId: string
  readonly patients: number
  readonly wards: number
  readonly refused: number
  readonly reports: number
  readonly foreign: number
  readonly firstAtMs: number
  readonly lastAtMs: number
}

/** A stay as far as the report names it. */
export type AccessStay = {
  readonly stayId: string
  readonly wardId: string
  readonly wristband: string
  readonly admittedAtMs: number
  readonly dischargedAtMs: number | null
}

/** For administrators only: anybody else's scope is answered nothing. */
export type AccessReads = {
  /** Newest first, at most `most`, after `before` when given. */
  accessRows(
    scope: Scope,
    asked: AccessAsked,
    page: { readonly before: AccessPlace | null; readonly most: number },
  ): readonly AccessRow[]
  /** Everybody who stands in the answer, most rows first. */
  accessTotals(scope: Scope, asked: AccessAsked): readonly AccessTotal[]
  /** The stays with this wristband number, or the stay with this id; newest first. */
  accessStays(scope: Scope, wristbandOrStay: string): readonly AccessStay[]
}

export type AccessWrites = {
  /** The ward on which each patient lies, or lay last, by stay: for the log only, which shows it to nobody of a ward. */
  wardsOfStays(stayIds: readonly string[]): ReadonlyMap<string, string>
  /** Reads of patient pages, written in batches off the response path. */
  logAccess(entries: readonly AccessEntry[]): void
}
