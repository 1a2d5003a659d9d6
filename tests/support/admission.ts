/** A valid admission form for the tests of stays. */
import type { Client, Got } from './client.ts'

export const ADMISSION: Readonly<Record<string, string>> = {
  wristband: 'W7399',
  familyName: 'Harrow',
  givenName: 'Judith',
  bornOn: '1944-08-30',
  admittedAt: '',
  swallows: 'yes',
  nil: 'no',
  nilFrom: '',
  nilUntil: '',
  feeding: 'oral',
  diabetes: 'type-2',
  others: 'metformin, linagliptin',
  weight: '71.5',
  isolation: 'contact',
  'hand.left.drip': 'yes',
  iv: 'yes',
  steroid: 'yes',
  kind: 'ac-and-hs',
  times: '',
  onceAt: '',
}

/** Admits to the bed and returns the response. */
export function admit(client: Client, bed: string, fields: Readonly<Record<string, string>> = {}): Promise<Got> {
  return client.post(`/setup/beds/${bed}/admit`, { ...ADMISSION, ...fields })
}

/** The id of the stay from an accepted admission. */
export function stayIdOf(got: Got): string {
  const id = /^\/stays\/([a-z0-9]{16})$/.exec(got.location ?? '')?.[1]
  if (id === undefined) throw new Error(`no stay: ${String(got.status)} ${got.words().slice(0, 600)}`)
  return id
}
