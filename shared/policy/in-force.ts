/** Which version of a ward's policy is in force. */

/**
 * The version in force at `atMs`, of a ward's versions newest first. The first version also covers the time before it.
 * Undefined: the ward has none.
 */
export function versionInForce<V extends { readonly fromMs: number }>(
  versions: readonly V[],
  atMs: number,
): V | undefined {
  return versions.find(({ fromMs }) => fromMs <= atMs) ?? versions.at(-1)
}
