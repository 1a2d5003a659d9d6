/** The auto-escaping template: every dangerous case is refused or escaped. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Attribute, attribute, Html, html, join } from '../../views/html.ts'
import { attr, byTag, findAll, parseHtml, textOf } from '../support/html.ts'

/** A value that the types refuse, such as JSON from a table. */
const untyped = (value: unknown): string => value as string

describe('text', () => {
  it('is escaped by default, in text and in attributes', () => {
    expect(html`<p title="${`"><script>x</script>`}">${'<b>&\'"'}</p>`.toString()).toBe(
      '<p title="&quot;&gt;&lt;script&gt;x&lt;/script&gt;">&lt;b&gt;&amp;&#39;&quot;</p>',
    )
  })

  it('is escaped item by item in a list', () => {
    expect(html`<ul>${['<li>', '&'].map((text) => html`<li>${text}</li>`)}${['<', '>']}</ul>`.toString()).toBe(
      '<ul><li>&lt;li&gt;</li><li>&amp;</li>&lt;&gt;</ul>',
    )
  })

  it('is not treated as markup after a literal', () => {
    expect(html`<p>Low!${'<i>'}</p>`.toString()).toBe('<p>Low!&lt;i&gt;</p>')
  })

  it('comes back unchanged from a real parser (property)', () => {
    // HTML parsers change NUL and carriage return; forms refuse the first, browsers send the second as line ends
    const text = fc.string({ unit: 'binary' }).map((value) => value.replace(/[\0\r]/g, '').replace(/\p{Cs}/gu, ''))
    fc.assert(
      fc.property(text, (value) => {
        const root = parseHtml(html`<div title="${value}"><span>${value}</span></div>`.toString())
        const all = findAll(root)
        expect(all.map((element) => element.tagName)).toEqual(['div', 'span'])
        const [div, span] = all
        expect(div === undefined ? null : attr(div, 'title')).toBe(value)
        const child = span?.childNodes[0]
        expect(child === undefined ? '' : 'value' in child ? child.value : null).toBe(value)
      }),
      { numRuns: 500 },
    )
  })
})

describe('a value that cannot be shown throws and never renders as blank', () => {
  it.each([
    ['undefined', undefined],
    ['a Date', new Date(0)],
    ['an object', { units: 4 }],
    ['an object with a toString of its own', { toString: () => '<b>4</b>' }],
    ['NaN', Number.NaN],
    ['infinity', Number.POSITIVE_INFINITY],
    ['a promise', Promise.resolve('4')],
    ['a function', () => '4'],
    ['true', true],
    ['a big integer', 4n],
    ['a symbol', Symbol('4')],
    ['undefined inside a list', ['4', undefined]],
    ['an object that pretends to be Html', { '#text': '<b>', constructor: Html }],
    ['an object with the prototype of Html', Object.create(Html.prototype)],
  ])('%s', (_name, value) => {
    expect(() => html`<p>${untyped(value)}</p>`).toThrow(TypeError)
    expect(() => html`<p title="${untyped(value)}"></p>`).toThrow(TypeError)
  })

  it('null and false render nothing', () => {
    expect(html`<p>${null}${false}</p>`.toString()).toBe('<p></p>')
  })

  it('a number renders unchanged, also zero', () => {
    expect(html`<p>${0} ${7.5} ${-3}</p>`.toString()).toBe('<p>0 7.5 -3</p>')
  })
})

describe('a placeholder where escaping cannot help is refused', () => {
  const x = 'x'
  it.each<[string, () => Html]>([
    ['in a tag name', () => html`<${x}>`],
    ['as part of a tag name', () => html`<h${1}>`],
    ['in a closing tag', () => html`<b></${x}>`],
    ['in an unquoted attribute', () => html`<a title=${x}>`],
    ['in an unquoted attribute after a blank', () => html`<a title= ${x}>`],
    ['later in an unquoted attribute', () => html`<a title=b${x}>`],
    ['as an attribute name, as text', () => html`<a ${x}>`],
    ['as an attribute name with a value', () => html`<a ${x}="1">`],
    ['in a comment', () => html`<!-- ${x} -->`],
    ['in a script', () => html`<script>let a = "${x}"</script>`],
    ['in a script in capitals', () => html`<SCRIPT>${x}</SCRIPT>`],
    ['in a script that has attributes', () => html`<script type="application/json">${x}</script>`],
    ['in a style', () => html`<style>${x}</style>`],
    ['in a style attribute', () => html`<p style="color: ${x}">`],
    ['in an event handler', () => html`<p onclick="${x}">`],
    ['in an event handler in capitals', () => html`<p ONCLICK='${x}'>`],
    ['in srcdoc', () => html`<iframe srcdoc="${x}"></iframe>`],
    ['in hx-on', () => html`<p hx-on:click="${x}">`],
    ['in hx-vals', () => html`<p hx-vals='{"a": "${x}"}'>`],
    ['in hx-headers', () => html`<p hx-headers='${x}'>`],
    ['at the start of an href', () => html`<a href="${x}">`],
    ['at the start of an href in single quotes', () => html`<a href='${x}'>`],
    ['at the start of a src', () => html`<img src="${x}">`],
    ['at the start of an action', () => html`<form action="${x}">`],
    ['at the start of a formaction', () => html`<button formaction="${x}">`],
    ['at the start of hx-get', () => html`<p hx-get="${x}">`],
    ['at the start of hx-post', () => html`<p hx-post="${x}">`],
  ])('%s', (_name, make) => {
    expect(make).toThrow(TypeError)
  })

  it('a path after a fixed "/" and text after a closed script are allowed', () => {
    expect(html`<a href="/stays/${'a"b'}">${x}</a>`.toString()).toBe('<a href="/stays/a&quot;b">x</a>')
    expect(html`<script src="/a.js"></script><p>${'<'}</p>`.toString()).toBe('<script src="/a.js"></script><p>&lt;</p>')
    expect(html`<!-- fixed --><p>${'<'}</p>`.toString()).toBe('<!-- fixed --><p>&lt;</p>')
  })

  it('is refused on every use of the same template', () => {
    const make = (): Html => html`<a href="${x}">`
    expect(make).toThrow(TypeError)
    expect(make).toThrow(TypeError)
  })
})

describe('attributes', () => {
  it('true renders the name only, false and null render nothing, text is escaped', () => {
    expect(
      html`<input type="text"${attribute('checked', true)}${attribute('required', false)}${attribute('min', null)}${attribute('value', '"&')}>`.toString(),
    ).toBe('<input type="text" checked value="&quot;&amp;">')
  })

  it('may follow a tag name directly and add their own space', () => {
    expect(html`<li${attribute('class', 'urgent')}>${'x'}</li>`.toString()).toBe('<li class="urgent">x</li>')
    expect(html`<li${attribute('class', null)}></li>`.toString()).toBe('<li></li>')
    expect(() => html`<${attribute('class', 'x')}>`).toThrow(TypeError)
  })

  it.each(['onclick', 'style', 'href', 'src', 'hx-get', 'action', 'data-', 'data-UPPER', 'x y', 'checked onclick'])(
    'refuses the name %s',
    (name) => {
      expect(() => attribute(name, 'x')).toThrow(TypeError)
    },
  )

  it('cannot be created another way', () => {
    expect(() => new Attribute(' onclick="x"', untyped(Symbol('html')) as never)).toThrow()
    expect(() => new Html('<script>', untyped(Symbol('html')) as never)).toThrow()
  })
})

describe('join', () => {
  it('escapes the parts and the separator', () => {
    expect(join(['<a>', html`<b></b>`, 3], ' & ').toString()).toBe('&lt;a&gt; &amp; <b></b> &amp; 3')
  })
})

describe('the page reader of these tests', () => {
  it('reads visible text and skips scripts', () => {
    const root = parseHtml(
      '<!doctype html><html><head><title>t</title></head><body><p>a <b>b</b></p><script>c</script></body></html>',
    )
    expect(textOf(root)).toBe('t a b')
    expect(byTag(root, 'p')).toHaveLength(1)
  })
})
