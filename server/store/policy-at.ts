/** The policy of a ward at an instant. Versions never change, so each is parsed once and kept. */
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Connection } from './connection.ts'
import type { PolicyVersion } from './contract.ts'

type VersionRow = { readonly ward_id: string; readonly version: number; readonly from_ms: number }

/** Prepares it. The first version also covers the time before it: a paper reading can be older than the set-up. */
export function policyAtOf({ raw }: Connection): (wardId: string, atMs: number) => PolicyVersion | undefined {
  const inForce = raw.prepare<[string, number], VersionRow>('SELECT ward_id, version, from_ms FROM policy_version WHERE ward_id = ? AND from_ms <= ? ORDER BY version DESC LIMIT 1')
  const first = raw.prepare<[string], VersionRow>('SELECT ward_id, version, from_ms FROM policy_version WHERE ward_id = ? ORDER BY version LIMIT 1')
  const body = raw.prepare<[string, number], { policy: string }>('SELECT policy FROM policy_version WHERE ward_id = ? AND version = ?')
  const parsed = new Map<string, PolicyVersion>()
  return (wardId, atMs) => {
    const row = inForce.get(wardId, atMs) ?? first.get(wardId)
    if (row === undefined) return undefined
    const key = `${wardId} ${String(row.version)}`
    const known = parsed.get(key)
    if (known !== undefined) return known
    const text = body.get(wardId, row.version)?.policy
    if (text === undefined) return undefined
    const version: PolicyVersion = { wardId, version: row.version, policy: JSON.parse(text) as WardPolicy, fromMs: row.from_ms }
    // one set in a transaction still running could be rolled back, and then set otherwise
    if (!raw.inTransaction) parsed.set(key, version)
    return version
  }
}
