/** Signing in with badge and PIN. */
import { html, type Html } from '../html.ts'
import { field, problem } from '../parts.ts'

type State = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export type SignInView = {
  readonly state: State
  /** Typed values wait for the same person to sign in again. */
  readonly kept: boolean
  /** The database has no people yet. */
  readonly empty: boolean
  /** The person has just set a PIN with a code. */
  readonly pinSet: boolean
}

/** The next empty field has the focus: the badge, or the PIN once a badge was scanned. */
export function signInPage({ state, kept, empty, pinSet }: SignInView): Html {
  const badge = state.values['badge'] ?? ''
  return html`<section class="card narrow">
<h1>Sign in</h1>
${kept ? html`<p class="kept">You were signed out. What you typed is kept: sign in with the same badge and it is there again.</p>` : null}
${pinSet ? html`<p class="kept">Your PIN is set. Sign in with it.</p>` : null}
${problem(state.problem)}
<form method="post" action="/sign-in" novalidate>
<input type="hidden" name="next" value="${state.values['next'] ?? '/'}">
<input type="hidden" name="draft" value="${state.values['draft'] ?? ''}">
${field({ name: 'badge', label: 'Badge', value: badge, error: state.errors['badge'] ?? null, maxlength: 40, autofocus: badge === '', hint: 'Scan it or type the number under the barcode.' })}
${field({ name: 'pin', label: 'PIN', value: '', error: state.errors['pin'] ?? null, type: 'password', inputmode: 'numeric', maxlength: 64, autofocus: badge !== '' })}
<p class="actions"><button type="submit" class="main">Sign in</button></p>
</form>
${empty ? html`<p>Nobody has been added yet. <a href="/first-administrator">Set up the first administrator</a></p>` : null}
<p><a class="quiet" href="/set-pin">Set a PIN with a code</a></p>
</section>`
}
