/**
 * One-time keys of forms. A key is a fresh id and a signature over it, the person and the form's name: nothing is
 * stored until it is used up, in the decision's own transaction. It is bound to the person and not to the login, so it
 * survives signing in again.
 */
import { createHash, createHmac, timingSafeEqual } from 'node:crypto'
import canonicalize from 'canonicalize'
import { isId } from './ids.ts'

export class FormKeys {
  readonly #secret: Buffer
  readonly #newId: () => string

  constructor(secret: Buffer, newId: () => string) {
    this.#secret = secret
    this.#newId = newId
  }

  make(staffId: string, form: string): string {
    const nonce = this.#newId()
    return `${nonce}.${this.#sign(nonce, staffId, form)}`
  }

  /** The key's id when it was made for this person and form, else undefined. */
  nonceOf(key: string, staffId: string, form: string): string | undefined {
    const [nonce = '', signature = '', more] = key.split('.')
    if (more !== undefined || !isId(nonce)) return undefined
    const right = Buffer.from(this.#sign(nonce, staffId, form))
    const given = Buffer.from(signature)
    return given.length === right.length && timingSafeEqual(given, right) ? nonce : undefined
  }

  #sign(nonce: string, staffId: string, form: string): string {
    return createHmac('sha256', this.#secret)
      .update(JSON.stringify([nonce, staffId, form]))
      .digest('base64url')
  }
}

/**
 * What was sent, as one hash: path and fields besides the key. Secret fields stay out: a hash of a short PIN in the
 * database could be undone by trying all PINs.
 */
export function bodyHash(
  path: string,
  fields: Readonly<Record<string, string>>,
  secretFields: readonly string[],
): string {
  const open = Object.fromEntries(
    Object.entries(fields).filter(([name]) => name !== 'key' && !secretFields.includes(name)),
  )
  return createHash('sha256')
    .update(canonicalize({ path, fields: open }) ?? '')
    .digest('hex')
}

/** The id under which a kept refusal is settled: once for each key and content, and apart from the key itself. */
export function keptNonce(nonce: string, hash: string): string {
  const digest = createHash('sha256').update(`kept ${nonce} ${hash}`).digest('hex')
  return digest.slice(0, 16)
}
