/** The first administrator of an empty database. */
import { html, type Html } from '../html.ts'
import { field, problem } from '../parts.ts'

type State = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function firstAdministratorPage({ state }: { readonly state: State }): Html {
  const { values, errors } = state
  return html`<section class="card narrow">
<h1>First administrator</h1>
<p>This service has no people yet. Its console shows a code: with it you become the first administrator. This page then closes for good.</p>
${problem(state.problem)}
<form method="post" action="/first-administrator" novalidate>
${field({ name: 'code', label: 'Code from the console', value: '', error: errors['code'] ?? null, maxlength: 60, autofocus: true })}
${field({ name: 'name', label: 'Name', value: values['name'] ?? '', error: errors['name'] ?? null, maxlength: 80, hint: 'As it stands on your badge.' })}
${field({ name: 'badge', label: 'Badge', value: values['badge'] ?? '', error: errors['badge'] ?? null, maxlength: 40, hint: 'The number under the barcode.' })}
${field({ name: 'pin', label: 'PIN', value: '', error: errors['pin'] ?? null, type: 'password', inputmode: 'numeric', maxlength: 64, hint: '6 to 12 digits that nobody can guess.' })}
${field({ name: 'pinAgain', label: 'PIN again', value: '', error: errors['pinAgain'] ?? null, type: 'password', inputmode: 'numeric', maxlength: 64 })}
<p class="actions"><button type="submit" class="main">Become the administrator</button></p>
</form>
</section>`
}
