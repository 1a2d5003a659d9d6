/** People set their own PIN: with a one-time code, or with their current PIN. */
import { html, type Html } from '../html.ts'
import { field, form, problem } from '../parts.ts'

type State = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

const PIN_HINT = '6 to 12 digits that nobody can guess.'

/** The next empty field has the focus: the badge, or the code once a badge was scanned. */
export function setPinPage({ state }: { readonly state: State }): Html {
  const badge = state.values['badge'] ?? ''
  return html`<section class="card narrow">
<h1>Set your PIN</h1>
<p>An administrator gives you a code. It works once. Nobody else needs to know your PIN, and nobody may ask for it.</p>
${problem(state.problem)}
<form method="post" action="/set-pin" novalidate>
${field({ name: 'badge', label: 'Badge', value: badge, error: state.errors['badge'] ?? null, maxlength: 40, autofocus: badge === '', hint: 'Scan it or type the number under the barcode.' })}
${field({ name: 'code', label: 'Code', value: '', error: state.errors['code'] ?? null, maxlength: 64, autofocus: badge !== '', hint: '8 letters and digits. Capitals or not.' })}
${newPinFields(state)}
<p class="actions"><button type="submit" class="main">Set my PIN</button></p>
</form>
<p><a class="quiet" href="/sign-in">Sign in</a></p>
</section>`
}

/** `changed`: the PIN was just changed. */
export function ownPinPage({ state, changed }: { readonly state: State; readonly changed: boolean }): Html {
  return html`<section class="card narrow">
<h1>Your PIN</h1>
${changed ? html`<p class="kept" role="status">Your PIN is changed. Wherever else you were signed in, you no longer are.</p>` : null}
${problem(state.problem)}
${form({
  action: 'my-pin',
  key: state.values['key'] ?? '',
  submit: 'Change my PIN',
  body: html`${field({ name: 'oldPin', label: 'Present PIN', value: '', error: state.errors['oldPin'] ?? null, type: 'password', inputmode: 'numeric', maxlength: 64, autofocus: true })}
${newPinFields(state)}`,
})}
</section>`
}

function newPinFields({ errors }: State): Html {
  return html`${field({ name: 'pin', label: 'New PIN', value: '', error: errors['pin'] ?? null, type: 'password', inputmode: 'numeric', maxlength: 64, hint: PIN_HINT })}
${field({ name: 'pinAgain', label: 'New PIN again', value: '', error: errors['pinAgain'] ?? null, type: 'password', inputmode: 'numeric', maxlength: 64 })}`
}
