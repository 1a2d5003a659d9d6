/** The forms about people, each on a page of its own. */
import { html, type Child, type Html } from '../html.ts'
import { choice, field, form, problem, tick } from '../parts.ts'

type State = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export type PersonFormView = State & { readonly staffId: string; readonly name: string }

type Choices = {
  readonly roles: readonly { readonly value: string; readonly label: string }[]
  /** `field` is the checkbox's name. */
  readonly wards: readonly { readonly field: string; readonly name: string }[]
}

function aForm(
  view: PersonFormView,
  parts: { readonly heading: string; readonly path: string; readonly submit: string; readonly body: Child },
): Html {
  return html`<section class="card narrow">
<h1>${parts.heading}</h1>
<p>${view.name}</p>
${problem(view.problem)}
${form({ action: `setup/people/${view.staffId}/${parts.path}`, key: view.values['key'] ?? '', submit: parts.submit, body: parts.body })}
<p><a class="quiet" href="/setup/people/${view.staffId}">Back without a change</a></p>
</section>`
}

function error(view: State, name: string): string | null {
  return view.errors[name] ?? null
}

function roleAndWards(view: State & Choices): Html {
  return html`${choice({ name: 'role', label: 'Role', options: view.roles, value: view.values['role'] ?? '', error: error(view, 'role') })}
<fieldset class="choice"><legend>Wards</legend>
${view.wards.length === 0 ? html`<p class="hint">There is no ward yet. Open one first, unless this is an administrator.</p>` : view.wards.map((ward) => tick({ name: ward.field, label: ward.name, ticked: view.values[ward.field] === 'yes', error: error(view, ward.field) }))}
${view.errors['wards'] === undefined ? null : html`<p class="error" role="alert"><span aria-hidden="true">▲</span> ${view.errors['wards']}</p>`}
</fieldset>`
}

/** The badge comes last: a scanner ends with Enter, which submits the form. */
export function newPersonPage(view: State & Choices): Html {
  return html`<section class="card narrow">
<h1>Add a person</h1>
${problem(view.problem)}
${form({
  action: 'setup/people/new',
  key: view.values['key'] ?? '',
  submit: 'Add',
  body: html`${field({ name: 'name', label: 'Name', value: view.values['name'] ?? '', error: error(view, 'name'), maxlength: 80, autofocus: true, hint: 'As it stands on the badge.' })}
${roleAndWards(view)}
${field({ name: 'trainingUntil', label: 'Trained on the meters until', value: view.values['trainingUntil'] ?? '', error: error(view, 'trainingUntil'), type: 'date', hint: 'The last day. Empty: not known.' })}
${field({ name: 'badge', label: 'Badge', value: view.values['badge'] ?? '', error: error(view, 'badge'), maxlength: 40, hint: 'Scan it last, which sends the form, or type the number under the barcode.' })}`,
})}
<p>You set nobody’s PIN. Make a code on the person’s page: with it the person sets it.</p>
<p><a class="quiet" href="/setup/people">People</a></p>
</section>`
}

/** `own`: the page is about the viewer, who may change only the name. */
export function rolePage(view: PersonFormView & Choices & { readonly own: boolean }): Html {
  return aForm(view, {
    heading: 'Name, role and wards',
    path: 'role',
    submit: 'Change',
    body: html`${view.own ? html`<p class="hint">Your own role and wards are changed by another administrator.</p>` : html`<p class="hint">Another role or other wards sign the person out everywhere, and give back beds taken on a ward that is gone.</p>`}
${field({ name: 'name', label: 'Name', value: view.values['name'] ?? '', error: error(view, 'name'), maxlength: 80, hint: 'A new name also stands on what was charted before.' })}
${roleAndWards(view)}`,
  })
}

export function badgePage(view: PersonFormView & { readonly badge: string }): Html {
  return aForm(view, {
    heading: 'Another badge',
    path: 'badge',
    submit: 'Change the badge',
    body: html`<p>Badge now: <strong>${view.badge}</strong>. It opens nothing any more once another one is given. The PIN stays.</p>
${field({ name: 'badge', label: 'New badge', value: view.values['badge'] ?? '', error: error(view, 'badge'), maxlength: 40, autofocus: true, hint: 'Scan it or type the number under the barcode.' })}`,
  })
}

export function lockPage(view: PersonFormView): Html {
  return aForm(view, {
    heading: 'Lock',
    path: 'lock',
    submit: 'Lock',
    body: html`<p>From now on this person can neither sign in nor sign a second check. Wherever the person is signed in, that ends at once, and beds taken are given back.</p>
${field({ name: 'reason', label: 'Reason', value: view.values['reason'] ?? '', error: error(view, 'reason'), maxlength: 200, autofocus: true, hint: 'As in: badge lost.' })}`,
  })
}

/** `reason`: why the person is locked. Null: not locked. */
export function unlockPage(view: PersonFormView & { readonly reason: string | null }): Html {
  return aForm(view, {
    heading: 'Unlock',
    path: 'unlock',
    submit: 'Unlock',
    body:
      view.reason === null
        ? html`<p>This person is not locked.</p>`
        : html`<p>Locked because: <strong>${view.reason}</strong></p>`,
  })
}

export function leavePage(view: PersonFormView): Html {
  return aForm(view, {
    heading: 'No longer works here',
    path: 'leave',
    submit: 'Leaves for good',
    body: html`<p>Badge and PIN open nothing from now on, and this cannot be taken back. The name stays on everything that was charted. Who comes back is added anew, with another badge.</p>
${tick({ name: 'gone', label: `${view.name} no longer works here`, ticked: view.values['gone'] === 'yes', error: error(view, 'gone') })}`,
  })
}

export function trainingPage(view: PersonFormView): Html {
  return aForm(view, {
    heading: 'Meter training',
    path: 'training',
    submit: 'Change',
    body: html`<p>When it has ended, the person is told at each check and on the round. It stops no charting.</p>
${field({ name: 'until', label: 'Trained until', value: view.values['until'] ?? '', error: error(view, 'until'), type: 'date', hint: 'The last day. Empty: not known.' })}`,
  })
}

/** `closed`: why no code can be made for this person. */
export function codePage(
  view: PersonFormView & { readonly hasPin: boolean; readonly hours: number; readonly closed: string | null },
): Html {
  if (view.closed !== null)
    return html`<section class="card narrow"><h1>Code for a PIN</h1>
<p>${view.name}</p>
<p>${view.closed}</p>
<p><a class="quiet" href="/setup/people/${view.staffId}">Back</a></p></section>`
  return aForm(view, {
    heading: 'Code for a PIN',
    path: 'pin-code',
    submit: 'Make a code',
    body: html`<p>With the code the person sets a PIN that nobody else knows. It is shown once, works once, and holds ${view.hours} hours.</p>
${view.hasPin ? html`<p class="warning"><span aria-hidden="true">▲</span> This person has a PIN. It works until a new one is set with the code. Hand the code to nobody else: whoever has it can sign as this person.</p>` : html`<p>Hand it to nobody else: whoever has it can sign as this person.</p>`}`,
  })
}

/** The only page that shows the code, in two groups of four, so that it is easy to read out. */
export function codeShownPage(view: {
  readonly staffId: string
  readonly name: string
  readonly code: string
  readonly hours: number
}): Html {
  return html`<section class="card narrow">
<h1>Code for a PIN</h1>
<p>${view.name}</p>
<p class="big-number" id="pin-code">${view.code.slice(0, 4)} ${view.code.slice(4)}</p>
<p>Hand it over now: it is not shown again. It works once, within ${view.hours} hours.</p>
<p>The person opens <strong>Set a PIN with a code</strong> on the sign-in page, scans the badge, types the code and chooses a PIN.</p>
<p><a class="button" href="/setup/people/${view.staffId}">Done</a></p>
</section>`
}
