/**
 * The auto-escaping template of every page. Text is always escaped; only an `Html` instance is inserted unchanged. A
 * value that could show a blank or a wrong number throws (a Date, an object, NaN, a promise, undefined). A placeholder
 * is refused where escaping cannot make it safe: in a tag name, an unquoted attribute, a comment, a script or a style.
 */
export class Html {
  readonly #text: string
  constructor(text: string, door: typeof DOOR) {
    if (door !== DOOR) throw new Error('Html is made by the html tag only')
    this.#text = text
  }
  toString(): string {
    return this.#text
  }
}

const DOOR: unique symbol = Symbol('html')

/** The values allowed in a placeholder. `undefined` is excluded: write a missing field as "–" explicitly. */
export type Child = Html | Attribute | string | number | null | false | readonly Child[]

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}
const NEEDS_ESCAPE = /[&<>"']/
const EVERY_ESCAPE = /[&<>"']/g

/** For each template: which placeholders are inside a tag, where only an `Attribute` is allowed. */
const checked = new WeakMap<TemplateStringsArray, readonly boolean[]>()

/** A whole attribute, or none. `attribute` makes it. Only an `Attribute` is allowed in a tag outside quotes. */
export class Attribute {
  readonly #text: string
  constructor(text: string, door: typeof DOOR) {
    if (door !== DOOR) throw new Error('an attribute is made by attribute() only')
    this.#text = text
  }
  toString(): string {
    return this.#text
  }
}

const ATTRIBUTES = new Set([
  'checked',
  'selected',
  'disabled',
  'hidden',
  'required',
  'readonly',
  'autofocus',
  'open',
  'value',
  'min',
  'max',
  'step',
  'maxlength',
  'inputmode',
  'autocomplete',
  'pattern',
  'placeholder',
  'aria-describedby',
  'aria-invalid',
  'aria-current',
  'aria-live',
  'aria-label',
  'hx-trigger',
  'hx-swap',
  'hx-swap-oob',
  'class',
  'id',
  'role',
  'colspan',
  'list',
  'tabindex',
  'lang',
])

/** One attribute by name. true writes it without a value, false or null writes nothing, text is escaped and quoted. */
export function attribute(name: string, value: string | number | boolean | null): Attribute {
  if (!ATTRIBUTES.has(name) && !/^data-[a-z-]+$/.test(name)) throw new TypeError(`attribute ${name} is not in the list`)
  if (value === false || value === null) return new Attribute('', DOOR)
  return new Attribute(value === true ? ` ${name}` : ` ${name}="${show(value)}"`, DOOR)
}

/** Makes `Html` from a template. Throws a TypeError on a value or a place that cannot be shown safely. */
export function html(strings: TemplateStringsArray, ...holes: readonly Child[]): Html {
  let inTag = checked.get(strings)
  if (inTag === undefined) {
    inTag = checkTemplate(strings)
    checked.set(strings, inTag)
  }
  let out = strings[0] ?? ''
  for (let i = 0; i < holes.length; i++) {
    const hole = holes[i] as Child
    out += inTag[i] === true ? showAttribute(hole, strings[i] ?? '') : show(hole)
    out += strings[i + 1] ?? ''
  }
  return new Html(out, DOOR)
}

function showAttribute(hole: Child, before: string): string {
  if (!(hole instanceof Attribute))
    throw new TypeError(`a hole in a tag takes an attribute() or stands in quotes: …${before.slice(-40)}`)
  return hole.toString()
}

function show(child: Child): string {
  if (typeof child === 'string')
    return NEEDS_ESCAPE.test(child) ? child.replace(EVERY_ESCAPE, (c) => ESCAPES[c] ?? c) : child
  if (child instanceof Html) return child.toString()
  if (child === null || child === false) return ''
  if (typeof child === 'number') {
    if (!Number.isFinite(child)) throw new TypeError('a number that is not finite cannot be shown')
    return String(child)
  }
  if (Array.isArray(child)) {
    let out = ''
    for (const one of child as readonly Child[]) out += show(one)
    return out
  }
  throw new TypeError(`a value of type ${typeof child} cannot be shown`)
}

/** Joins fragments with a fixed text between them. */
export function join(children: readonly Child[], between: string): Html {
  return new Html(children.map(show).join(show(between)), DOOR)
}

type Place = 'text' | 'tag' | 'quoted' | 'comment' | 'raw'

/**
 * Checks a template's fixed text once and returns which placeholders are inside a tag. Throws on a placeholder that
 * escaping cannot make safe.
 */
function checkTemplate(strings: TemplateStringsArray): readonly boolean[] {
  const inTag: boolean[] = []
  let place: Place = 'text'
  let quote = ''
  let rawTag = ''
  /** The tag so far, from its "<", with each placeholder written as a space. */
  let tag = ''
  for (let i = 0; i < strings.length; i++) {
    const text = strings[i] ?? ''
    for (let at = 0; at < text.length; at++) {
      const c = text[at] ?? ''
      if (place === 'tag' || place === 'quoted') tag += c
      if (place === 'text') {
        if (text.startsWith('<!--', at)) {
          place = 'comment'
          at += 3
        } else if (c === '<') {
          place = 'tag'
          tag = c
        }
      } else if (place === 'tag') {
        if (c === '"' || c === "'") {
          place = 'quoted'
          quote = c
        } else if (c === '>') {
          rawTag = /^<(script|style)\b/i.exec(tag)?.[1]?.toLowerCase() ?? ''
          place = rawTag === '' ? 'text' : 'raw'
        }
      } else if (place === 'quoted') {
        if (c === quote) place = 'tag'
      } else if (place === 'comment') {
        if (text.startsWith('-->', at)) {
          place = 'text'
          at += 2
        }
      } else if (text.slice(at, at + rawTag.length + 2).toLowerCase() === `</${rawTag}`) {
        place = 'tag'
        tag = '<'
      }
    }
    if (i === strings.length - 1) break
    checkHole(place, tag)
    inTag.push(place === 'tag')
    if (place === 'tag' || place === 'quoted') tag += ' '
  }
  return inTag
}

/** Before the name. After the name only an `Attribute` is allowed, which adds its own space. */
const TAG_NAME = /^<\/?$/
const UNQUOTED_VALUE = /=\s*[^\s"']*$/
const ADDRESS_FROM_ITS_START = /\s(?:href|src|action|formaction|hx-get|hx-post|hx-put|hx-delete|hx-patch)\s*=\s*["']$/i
const CODE = /\s(?:on[a-z]+|style|srcdoc|hx-on[^=]*|hx-vals|hx-vars|hx-headers)\s*=\s*(?:"[^"]*|'[^']*)$/i

function checkHole(place: Place, tag: string): void {
  if (place === 'comment' || place === 'raw') throw new TypeError('no hole in a comment, script or style')
  if (place === 'tag') {
    if (TAG_NAME.test(tag)) throw new TypeError(`no hole in a tag name: ${tag}`)
    if (UNQUOTED_VALUE.test(tag)) throw new TypeError(`an attribute's value must be quoted: ${tag}`)
  }
  if (place === 'quoted') {
    if (CODE.test(tag)) throw new TypeError(`no hole in an attribute that is code: ${tag}`)
    // an address must start with a fixed "/", so that data cannot choose its scheme or host
    if (ADDRESS_FROM_ITS_START.test(tag)) throw new TypeError(`an address must begin with a fixed "/": ${tag}`)
  }
}
