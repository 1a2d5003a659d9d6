// What htmx leaves to the page: the focus after a change, and plain words when nothing was saved.
;(function () {
  'use strict'

  function notice(text) {
    const place = document.getElementById('notice')
    if (!place) return
    place.textContent = text
    place.hidden = text === ''
    if (text !== '') place.scrollIntoView({ block: 'nearest' })
  }

  // a wedge scanner types at the cursor, so each new page focuses the next field to fill in; a field with an error
  // comes first
  function focus(root) {
    const first =
      root.querySelector('[aria-invalid="true"]') || root.querySelector('[autofocus]') || root.querySelector('h1')
    if (!first) return
    if (first.tagName === 'H1') first.tabIndex = -1
    first.focus({ preventScroll: first.tagName === 'H1' })
    if (first.select) first.select()
  }

  function isPost(event) {
    const config = event.detail.requestConfig
    return Boolean(config) && config.verb === 'post'
  }

  function isBoosted(event) {
    return Boolean(event.detail.boosted)
  }

  document.addEventListener('htmx:afterSettle', function (event) {
    if (event.detail.target && event.detail.target.id === 'page') {
      notice('')
      focus(document.getElementById('page') || document)
    }
  })

  function lost(event) {
    if (isPost(event))
      notice(
        'Not saved: no connection. What you typed is still here. Send it again when the connection is back: it will be charted once.',
      )
    else if (isBoosted(event)) notice('No connection. The page was not opened.')
    else notice('No connection. What is shown here may be old.')
  }
  document.addEventListener('htmx:sendError', lost)
  document.addEventListener('htmx:timeout', function (event) {
    if (isPost(event)) notice('No answer came. What you typed is still here. Send it again: it will be charted once.')
    else lost(event)
  })

  document.addEventListener('htmx:responseError', function (event) {
    if (isPost(event))
      notice(
        'Not saved: the service had a fault. What you typed is still here. Try again; if it stays so, chart on paper.',
      )
    else if (isBoosted(event)) notice('The service had a fault. The page was not opened.')
    else notice('The service had a fault. What is shown here may be old.')
  })

  // a form returned because nothing could be saved contains what was typed; no other error replaces anything
  document.addEventListener('htmx:beforeSwap', function (event) {
    if (event.detail.xhr.status !== 503 || event.detail.xhr.getResponseHeader('ward-form') !== 'kept') return
    event.detail.shouldSwap = true
    event.detail.isError = false
  })

  // a part that refreshes again shows that the connection is back
  document.addEventListener('htmx:afterRequest', function (event) {
    if (event.detail.successful && !isPost(event)) notice('')
  })

  // A refreshing part with data-hold waits while somebody types or chooses in it, and says so.
  function inUse(part) {
    const focused = document.activeElement
    if (focused && part.contains(focused) && focused.matches('input, select, textarea')) return true
    return Array.from(part.querySelectorAll('input:not([type="hidden"]), select, textarea')).some(function (field) {
      return field.type === 'radio' || field.type === 'checkbox'
        ? field.checked !== field.defaultChecked
        : field.value !== field.defaultValue
    })
  }

  document.addEventListener('htmx:beforeSwap', function (event) {
    const part = event.detail.target
    if (!part || !part.dataset.hold) return
    const isNew = event.detail.xhr.status === 200
    const isHeld = isNew && inUse(part)
    if (isHeld) event.detail.shouldSwap = false
    const says = document.getElementById(part.dataset.hold)
    if (says) says.hidden = !isHeld
  })

  // ignore a tap shortly after a refresh: it was meant for the old content
  const SETTLE_MS = 1000
  let refreshedAt = -SETTLE_MS
  document.addEventListener('htmx:afterSwap', function (event) {
    const target = event.detail.target
    if (target && target.dataset.hold) refreshedAt = window.performance.now()
    // a new page: the tap is meant for it
    else if (target && target.id === 'page') refreshedAt = -SETTLE_MS
  })
  document.addEventListener(
    'submit',
    function (event) {
      if (!event.target.closest('[data-hold]') || window.performance.now() - refreshedAt >= SETTLE_MS) return
      event.preventDefault()
      event.stopPropagation()
    },
    true,
  )

  // a page can name its own script; it is loaded once, with the first page that needs it
  function fetchScript() {
    const asks = document.querySelector('[data-script]')
    if (!asks || document.querySelector('script[src="' + asks.dataset.script + '"]')) return
    const script = document.createElement('script')
    script.src = asks.dataset.script
    document.head.append(script)
  }
  fetchScript()
  document.addEventListener('htmx:afterSettle', fetchScript)

  // Timers: minutes and seconds to or past `data-due`, based on the service's time (`data-now` around them). A tablet
  // that slept continues by its own clock. If that clock was set back, the time since loading counts.
  const seen = new WeakMap()

  function since(home) {
    if (!seen.has(home)) seen.set(home, { wall: Date.now(), running: window.performance.now() })
    const start = seen.get(home)
    return Math.max(Date.now() - start.wall, window.performance.now() - start.running)
  }

  function spell(ms) {
    const seconds = Math.floor(Math.abs(ms) / 1000)
    const two = function (n) {
      return String(n).padStart(2, '0')
    }
    const hours = Math.floor(seconds / 3600)
    const minutes = Math.floor(seconds / 60) % 60
    const time = hours === 0 ? minutes + ':' + two(seconds % 60) : hours + ':' + two(minutes) + ':' + two(seconds % 60)
    return ms >= 0 ? time + ' left' : time + ' past'
  }

  function count() {
    for (const place of document.querySelectorAll('[data-due]')) {
      const home = place.closest('[data-now]')
      if (!home) continue
      const left = Number(place.dataset.due) - Number(home.dataset.now) - since(home)
      place.textContent = spell(left)
      place.classList.toggle('past', left < 0)
    }
  }
  count()
  setInterval(count, 1000)
  document.addEventListener('htmx:afterSettle', count)
  document.addEventListener('visibilitychange', count)
})()
