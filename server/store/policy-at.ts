/** The policy of a ward at an instant. */
import { completePolicy, type StoredPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Connection } from './connection.ts'
import type { PolicyVersion } from './contract.ts'

/** A policy as a column holds it, with the parts that an older one was written without. */
export function parsePolicy(text: string): WardPolicy {
  return completePolicy(JSON.parse(text) as StoredPolicy)
}

type VersionRow = { readonly version: number; readonly from_ms: number }

/** Prepares it. The first version also covers the time before it: a paper reading can be older than the set-up. */
export function policyAtOf({ raw, parsed }: Connection): (wardId: string, atMs: number) => PolicyVersion | undefined {
  const inForce = raw.prepare<[string, number], VersionRow>(
    'SELECT version, from_ms FROM policy_version WHERE ward_id = ? AND from_ms <= ? ORDER BY version DESC LIMIT 1',
  )
  const first = raw.prepare<[string], VersionRow>(
    'SELECT version, from_ms FROM policy_version WHERE ward_id = ? ORDER BY version LIMIT 1',
  )
  const body = raw.prepare<[string, number], { policy: string }>(
    'SELECT policy FROM policy_version WHERE ward_id = ? AND version = ?',
  )
  return (wardId, atMs) => {
    const row = inForce.get(wardId, atMs) ?? first.get(wardId)
    if (row === undefined) return undefined
    return parsed.policy(wardId, row.version, () => {
      const text = body.get(wardId, row.version)?.policy
      return text === undefined
        ? undefined
        : { wardId, version: row.version, policy: parsePolicy(text), fromMs: row.from_ms }
    })
  }
}
