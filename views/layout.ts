/** The frame of every page: who is signed in, the ward, the ward time, and the navigation. */
import { attribute, html, type Html } from './html.ts'

export type LayoutView = {
  readonly title: string
  /** The page itself, with its own h1. */
  readonly body: Html
  /** full: with navigation. bare: without it. print: the sheet only. */
  readonly chrome: 'full' | 'bare' | 'print'
  readonly wardName: string | null
  /** Ward-local, "07:20". */
  readonly wardTime: string | null
  /** Who is signed in. Null on pages that need no sign-in. */
  readonly person: {
    readonly name: string
    readonly nurse: boolean
    /** may open the pages of the charge nurse */
    readonly charge: boolean
    /** may open the audit */
    readonly audit: boolean
  } | null
  /** The demo's ward clock, "07:20". Null on a real ward. */
  readonly demo: { readonly clock: string; readonly path: string } | null
  readonly assets: { readonly css: string; readonly htmx: string; readonly script: string; readonly icon: string }
}

/**
 * htmx settings. It stores no page in the browser (shared tablets), and uses no eval and no inline style (strict CSP).
 * It sends requests to this site only. It shows a refused form. An error of the service is not swapped in, so typed
 * values stay.
 */
export const HTMX_CONFIG = JSON.stringify({
  historyCacheSize: 0,
  refreshOnHistoryMiss: true,
  allowEval: false,
  allowScriptTags: false,
  includeIndicatorStyles: false,
  selfRequestsOnly: true,
  scrollBehavior: 'instant',
  // htmx would set an empty style attribute while a page settles, which the content security policy blocks
  attributesToSettle: ['class'],
  timeout: 20_000,
  responseHandling: [
    { code: '204', swap: false },
    { code: '[23]..', swap: true },
    { code: '(400|403|404|409|413|415|422|429)', swap: true },
    { code: '...', swap: false, error: true },
  ],
})

/** The whole document. */
export function layout(view: LayoutView): Html {
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>${view.title} · Ward Glucose Round</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="htmx-config" content="${HTMX_CONFIG}">
<link rel="icon" href="/assets/${view.assets.icon}" type="image/svg+xml">
<link rel="stylesheet" href="/assets/${view.assets.css}">
<script src="/assets/${view.assets.htmx}" defer></script>
<script src="/assets/${view.assets.script}" defer></script>
</head>
<body hx-boost="true" hx-target="#page" hx-select="#page" hx-swap="outerHTML show:window:top">
<a class="skip" href="#main">Skip to the page</a>
<div id="notice" role="alert" hidden></div>
<div id="page">
${view.demo === null || view.chrome === 'print' ? null : demoBanner(view.demo)}
${view.chrome === 'print' ? null : header(view)}
<main id="main" class="${view.chrome}" tabindex="-1">
${view.body}
</main>
</div>
</body>
</html>
`
}

function header(view: LayoutView): Html {
  return html`<header class="top">
<p class="where"><strong>${view.wardName ?? 'Ward Glucose Round'}</strong>${view.wardTime === null ? null : html` <span class="clock">Ward time ${view.wardTime}</span>`}</p>
${view.person === null ? null : html`<p class="who">${view.person.name}</p>`}
${view.person === null || view.chrome === 'bare' ? null : navigation(view.person)}
</header>`
}

/** On a phone a charge nurse reaches the beds and the audit from the board, so that the menu fits on one line. */
function navigation({
  nurse,
  charge,
  audit,
}: {
  readonly nurse: boolean
  readonly charge: boolean
  readonly audit: boolean
}): Html {
  return html`<div class="menu"><nav aria-label="Main">
<ul>
${charge ? html`<li><a href="/board">Board</a></li>` : null}
${
  nurse
    ? html`<li><a href="/round">Round</a></li>
<li><a href="/second-checks">Second checks</a></li>
<li${attribute('class', charge ? 'wide-only' : null)}><a href="/ward">Beds</a></li>`
    : null
}
${audit ? html`<li${attribute('class', charge ? 'wide-only' : null)}><a href="/audit">Audit</a></li>` : null}
<li><a href="/setup">Setup</a></li>
</ul>
</nav>
<form class="sign-out" method="post" action="/sign-out"><button type="submit" class="quiet">Sign out</button></form></div>`
}

function demoBanner(demo: { readonly clock: string; readonly path: string }): Html {
  return html`<form class="demo" method="post" action="/demo/clock" aria-label="Demo clock">
<p>Demo. Ward clock ${demo.clock}. Invented patients.</p>
<input type="hidden" name="back" value="${demo.path}">
<p class="steps"><button type="submit" name="minutes" value="5">+5 min</button> <button type="submit" name="minutes" value="15">+15 min</button> <button type="submit" name="minutes" value="60">+60 min</button></p>
</form>`
}
