/** People: the list with what needs attention, and one person with what may be changed. */
import { html, join, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

export type PersonView = {
  readonly staffId: string
  readonly name: string
  readonly badge: string
  readonly role: string
  readonly wards: readonly string[]
  /** `until` is a date in words. `renew`: it ends soon or has ended. */
  readonly training: { readonly mark: Mark; readonly until: string | null; readonly renew: boolean }
  readonly hasPin: boolean
  /** Until when an unused PIN code is valid. Null: there is none. */
  readonly codeUntil: string | null
  readonly locked: { readonly reason: string; readonly at: string } | null
  readonly leftAt: string | null
}

/** Whether the person may sign in, as a word and a shape. */
function signInMark(person: PersonView): Html {
  if (person.leftAt !== null) return stateMark({ shape: '■', word: 'Left', tone: 'calm' })
  if (person.locked !== null) return stateMark({ shape: '■', word: 'Locked', tone: 'urgent' })
  return person.hasPin
    ? stateMark({ shape: '●', word: 'Can sign in', tone: 'done' })
    : stateMark({ shape: '○', word: 'No PIN yet', tone: 'due' })
}

function training({ training: { mark, until } }: PersonView): Html {
  return html`${stateMark(mark)}${until === null ? null : html` <span class="until">until ${until}</span>`}`
}

export type PeopleView = { readonly people: readonly PersonView[]; readonly mayAdd: boolean; readonly soonDays: number }

export function peoplePage({ people, mayAdd, soonDays }: PeopleView): Html {
  const here = people.filter(({ leftAt }) => leftAt === null)
  const left = people.filter(({ leftAt }) => leftAt !== null)
  const renew = here.filter((person) => person.training.renew)
  return html`<h1>People</h1>
${mayAdd ? html`<p class="actions"><a class="button main" href="/setup/people/new">Add a person</a></p>` : null}
${
  renew.length === 0
    ? null
    : html`<section class="warning" aria-labelledby="renew"><h2 id="renew">Meter training to renew</h2>
<p>Ended, or ends within ${soonDays} days: ${join(
        renew.map(
          (person) =>
            html`<a href="/setup/people/${person.staffId}">${person.name}</a>${person.training.until === null ? null : ` (${person.training.mark.word.toLowerCase()}: ${person.training.until})`}`,
        ),
        ', ',
      )}.</p></section>`
}
${here.length === 0 ? html`<p class="card">Nobody works here yet.</p>` : peopleTable('Works here', here)}
${
  left.length === 0
    ? null
    : html`<details><summary>No longer works here: ${left.length}</summary>
${peopleTable('No longer works here', left)}</details>`
}
<p><a class="quiet" href="/setup">Setup</a></p>`
}

function peopleTable(caption: string, people: readonly PersonView[]): Html {
  return html`<table class="table stacked people">
<caption>${caption}: ${people.length}</caption>
<thead><tr><th scope="col">Name</th><th scope="col">Role and wards</th><th scope="col">Badge</th><th scope="col">Meter training</th><th scope="col">Sign-in</th></tr></thead>
<tbody>${people.map(
    (person) => html`<tr>
<th scope="row"><a class="quiet" href="/setup/people/${person.staffId}">${person.name}</a></th>
<td>${person.role}${person.wards.length === 0 ? null : html`<br><span class="muted">${person.wards.join(', ')}</span>`}</td>
<td><span class="cell-name">Badge </span>${person.badge}</td>
<td><span class="cell-name">Meter training </span>${training(person)}</td>
<td>${signInMark(person)}</td>
</tr>`,
  )}</tbody>
</table>`
}

/** One person. `mayChange` for administrators. Nobody changes their own role, wards, training or code. */
export function personPage({
  person,
  mayChange,
  own,
}: {
  readonly person: PersonView
  readonly mayChange: boolean
  readonly own: boolean
}): Html {
  return html`<h1>${person.name}</h1>
<div class="card">
<dl class="facts">
<dt>Role</dt><dd>${person.role}</dd>
<dt>Wards</dt><dd>${person.wards.length === 0 ? '–' : person.wards.join(', ')}</dd>
<dt>Badge</dt><dd>${person.badge}</dd>
<dt>Meter training</dt><dd>${training(person)}</dd>
<dt>Sign-in</dt><dd>${signInMark(person)}</dd>
${person.locked === null ? null : html`<dt>Locked since</dt><dd>${person.locked.at}</dd><dt>Reason</dt><dd>${person.locked.reason}</dd>`}
${person.leftAt === null ? null : html`<dt>Left</dt><dd>${person.leftAt}</dd>`}
<dt>PIN</dt><dd>${person.hasPin ? 'Set by the person' : 'Not set'}${person.codeUntil === null ? null : html`<br>A code for a new one holds until ${person.codeUntil}`}</dd>
</dl>
${person.leftAt === null ? null : html`<p>The name stays on everything this person charted.</p>`}
</div>
${mayChange && person.leftAt === null ? changes(person, own) : null}
<p><a class="quiet" href="/setup/people">People</a></p>`
}

function changes({ staffId, locked }: PersonView, own: boolean): Html {
  return html`<section aria-labelledby="changes"><h2 id="changes">Change</h2>
<p class="actions"><a class="button" href="/setup/people/${staffId}/role">${own ? 'Name' : 'Name, role and wards'}</a>
<a class="button" href="/setup/people/${staffId}/badge">Another badge</a>
${
  own
    ? html`<a class="button" href="/my-pin">Your PIN</a>`
    : html`<a class="button" href="/setup/people/${staffId}/training">Meter training</a>
${locked === null ? html`<a class="button" href="/setup/people/${staffId}/pin-code">Make a code for a PIN</a>` : null}`
}
${locked === null ? html`<a class="button" href="/setup/people/${staffId}/lock">Lock</a>` : html`<a class="button" href="/setup/people/${staffId}/unlock">Unlock</a>`}
<a class="button" href="/setup/people/${staffId}/leave">No longer works here</a></p></section>`
}
