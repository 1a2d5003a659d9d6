/** Where those start who do not walk the round. */
import type { Role } from '../../shared/ledger/events.ts'
import { html, type Html } from '../html.ts'

export const ROLE_NAME: Readonly<Record<Role, string>> = {
  'floor-nurse': 'Floor nurse',
  'charge-nurse': 'Charge nurse',
  educator: 'Educator',
  administrator: 'Administrator',
}

export function startPage(view: { readonly name: string; readonly role: Role }): Html {
  return html`<section class="card">
<h1>Signed in</h1>
<p>${view.name}, ${ROLE_NAME[view.role]}</p>
<p>${view.role === 'administrator'
    ? html`Wards, people, patients, check plans, orders and meters are loaded from a file: <code>npm run load -- file.json</code>`
    : 'The round is walked by floor nurses and charge nurses. There is nothing for your role to do here yet.'}</p>
</section>`
}
