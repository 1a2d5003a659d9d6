// Keeps an open board up to date: applies changes, counts its timers, and shows when it is disconnected.
;(function () {
  'use strict'

  // the service sends a heartbeat every 4 s
  const SILENT_MS = 9000
  const AGAIN_MS = 2000
  const ENDED = {
    login: 'Your login has ended, so the board is closed. Sign in to see it.',
    ward: 'This ward is no longer yours, or you chose another one, so the board is closed.',
    elsewhere:
      'This board was opened too many times with your login: it is live where it was opened last. What is shown here is old.',
  }
  let live = null

  function start() {
    const home = document.getElementById('board')
    if (live && live.home !== home) {
      live.stop()
      live = null
    }
    if (home && home.dataset.stream && !live) live = begin(home)
  }

  function begin(home) {
    const link = document.getElementById('board-link')
    let version = home.dataset.version
    let pass = ''
    let source = null
    let heardAt = window.performance.now()
    let triedAt = heardAt
    let wardNow = Number(home.dataset.wardNow)
    let at = home.dataset.at
    let cut = false
    let over = false
    let retry = 0

    function say(shape, text) {
      link.querySelector('[aria-hidden]').textContent = shape
      link.querySelector('[data-says]').textContent = text
    }

    function heard(data) {
      heardAt = window.performance.now()
      wardNow = data.now
      at = data.at
      cut = false
      home.classList.remove('stale')
      say('●', 'Live, ' + at)
      count()
    }

    function lost() {
      if (cut || over) return
      cut = true
      home.classList.add('stale')
      say('■', 'No connection since ' + at + ': what is shown is old')
    }

    function parse(text) {
      const holder = document.createElement('template')
      holder.innerHTML = text
      return holder.content.firstElementChild
    }

    // the element with the focus or under the finger keeps its place
    function focusOf(node) {
      const links = node ? Array.from(node.querySelectorAll('a')) : []
      return links.indexOf(document.activeElement)
    }

    function take(data) {
      const places = new Map(
        Array.from(home.querySelectorAll('[data-part]')).map(function (node) {
          return [node.dataset.part, node]
        }),
      )
      const needs = home.querySelector('[data-parts="needs"]')
      for (const [part, text] of data.put) {
        const fresh = parse(text)
        const old = places.get(part)
        const focused = focusOf(old)
        if (old) old.replaceWith(fresh)
        else if (part.startsWith('need.')) needs.append(fresh)
        else home.querySelector(part.startsWith('ward.') ? '.ward-lines' : '.tiles').append(fresh)
        if (window.htmx) window.htmx.process(fresh)
        places.set(part, fresh)
        const again = focused < 0 ? null : fresh.querySelectorAll('a')[focused]
        if (again) again.focus({ preventScroll: true })
      }
      const wanted = new Set(data.needs)
      for (const [part, node] of places) if (part.startsWith('need.') && !wanted.has(part)) node.remove()
      data.needs.forEach(function (part, index) {
        const node = places.get(part)
        if (node && needs.children[index] !== node) {
          const focused = focusOf(node)
          needs.insertBefore(node, needs.children[index] || null)
          if (focused >= 0) node.querySelectorAll('a')[focused].focus({ preventScroll: true })
        }
      })
      version = data.version
      heard(data)
    }

    function on(name, take) {
      source.addEventListener(name, function (event) {
        take(JSON.parse(event.data))
      })
    }

    function open() {
      if (over) return
      if (source) source.close()
      triedAt = window.performance.now()
      source = new window.EventSource(
        home.dataset.stream + '?version=' + encodeURIComponent(version) + (pass === '' ? '' : '&pass=' + pass),
      )
      on('pass', function (data) {
        pass = data.pass
      })
      on('beat', heard)
      on('change', take)
      on('full', function (data) {
        const places = new Set(
          data.put.map(function (one) {
            return one[0]
          }),
        )
        for (const node of home.querySelectorAll('[data-part^="bed."], [data-part^="ward."]'))
          if (!places.has(node.dataset.part)) node.remove()
        take(data)
      })
      on('ended', function (data) {
        end(data.reason)
      })
      source.onerror = function () {
        source.close()
        clearTimeout(retry)
        retry = setTimeout(open, AGAIN_MS)
      }
    }

    function end(reason) {
      over = true
      source.close()
      home.classList.add('stale')
      say('■', ENDED[reason] || ENDED.login)
      if (reason === 'elsewhere') return
      // a locked screen must not show the ward
      document.getElementById('board-live').replaceChildren()
      const way = document.createElement('p')
      const anchor = document.createElement('a')
      anchor.className = 'button'
      anchor.href = '/board'
      anchor.textContent = reason === 'ward' ? 'Choose a ward' : 'Sign in'
      way.append(anchor)
      document.getElementById('board-live').append(way)
    }

    function spell(ms) {
      const seconds = Math.max(0, Math.floor(ms / 1000))
      const two = function (n) {
        return String(n).padStart(2, '0')
      }
      if (seconds < 3600) return Math.floor(seconds / 60) + ':' + two(seconds % 60) + ' min'
      const hours = Math.floor(seconds / 3600)
      return hours < 48 ? hours + ' h ' + two(Math.floor(seconds / 60) % 60) + ' min' : Math.floor(hours / 24) + ' d'
    }

    function count() {
      if (cut || over) return
      const now = wardNow + (window.performance.now() - heardAt)
      for (const place of home.querySelectorAll('[data-from]'))
        place.textContent = spell(now - Number(place.dataset.from))
    }

    function tick() {
      const silentMs = window.performance.now() - heardAt
      if (silentMs > SILENT_MS) lost()
      // also give up a connection that neither opens nor fails
      if (silentMs > SILENT_MS && window.performance.now() - triedAt > SILENT_MS) {
        clearTimeout(retry)
        open()
      }
      count()
    }

    open()
    count()
    const ticking = setInterval(tick, 1000)
    return {
      home: home,
      stop: function () {
        over = true
        clearInterval(ticking)
        clearTimeout(retry)
        if (source) source.close()
      },
    }
  }

  start()
  document.addEventListener('htmx:afterSettle', start)
})()
