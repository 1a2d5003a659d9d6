/** Opaque ids and secrets out of the operating system's randomness. */
import { createHash, randomBytes, randomInt } from 'node:crypto'

const LETTERS = 'abcdefghijklmnopqrstuvwxyz0123456789'
const ID_LENGTH = 16

/** A fresh id: 16 characters of a-z and 0-9 (82 bits). */
export function newId(): string {
  let id = ''
  // randomInt favours no letter, and draws the system's randomness for many calls at once
  while (id.length < ID_LENGTH) id += LETTERS.charAt(randomInt(LETTERS.length))
  return id
}

/** True for text that could be one of our ids; says nothing about whether it exists. */
export function isId(text: string): boolean {
  return /^[a-z0-9]{16}$/.test(text)
}

/** A secret for a cookie: 256 bits. */
export function newToken(): string {
  return randomBytes(32).toString('base64url')
}

/** SHA-256 in hexadecimal. */
export function sha256(text: string): string {
  return createHash('sha256').update(text).digest('hex')
}
