/** Pages as a browser reads them: parsed by a real HTML parser, never by regular expressions. */
import { HtmlValidate, StaticConfigLoader } from 'html-validate'
import { defaultTreeAdapter as tree, parse, parseFragment, type DefaultTreeAdapterMap } from 'parse5'

type Node = DefaultTreeAdapterMap['node']
type Parent = DefaultTreeAdapterMap['parentNode']
export type Element = DefaultTreeAdapterMap['element']

/** A whole document or a fragment as a tree. */
export function parseHtml(text: string): Parent {
  return /^\s*<!doctype/i.test(text) ? parse(text) : parseFragment(text)
}

/** Every element below that `wanted` accepts, in document order. */
export function findAll(root: Parent, wanted: (element: Element) => boolean = () => true): Element[] {
  const found: Element[] = []
  for (const child of root.childNodes) {
    if (!tree.isElementNode(child)) continue
    if (wanted(child)) found.push(child)
    found.push(...findAll(child, wanted))
  }
  return found
}

/** An attribute's value. Null: not set. */
export function attr(element: Element, name: string): string | null {
  return element.attrs.find((one) => one.name === name)?.value ?? null
}

export function byId(root: Parent, id: string): Element | null {
  return findAll(root, (element) => attr(element, 'id') === id)[0] ?? null
}

export function byTag(root: Parent, tag: string): Element[] {
  return findAll(root, (element) => element.tagName === tag)
}

export function byClass(root: Parent, name: string): Element[] {
  return findAll(root, (element) => (attr(element, 'class') ?? '').split(/\s+/).includes(name))
}

/** The visible text with spaces collapsed, without scripts and styles. */
export function textOf(node: Node): string {
  return collect(node).replace(/\s+/g, ' ').trim()
}

function collect(node: Node): string {
  if (tree.isTextNode(node)) return node.value
  if (
    tree.isElementNode(node) &&
    (node.tagName === 'script' || node.tagName === 'style' || node.tagName === 'template')
  )
    return ''
  return 'childNodes' in node ? node.childNodes.map(collect).join(' ') : ''
}

export type FormRead = {
  readonly action: string
  readonly method: string
  /** What a browser would send for the unchanged form. */
  readonly fields: Readonly<Record<string, string>>
  /** Every field name, sent or not. */
  readonly names: readonly string[]
  readonly element: Element
}

/** Every form of the page with what it would send. */
export function formsOf(root: Parent): FormRead[] {
  return byTag(root, 'form').map((element) => {
    const fields: Record<string, string> = {}
    const inputs = findAll(
      element,
      ({ tagName }) => tagName === 'input' || tagName === 'select' || tagName === 'textarea',
    )
    for (const input of inputs) {
      const name = attr(input, 'name')
      const value = valueOf(input)
      if (name !== null && value !== null) fields[name] = value
    }
    return {
      action: attr(element, 'action') ?? '',
      method: (attr(element, 'method') ?? 'get').toLowerCase(),
      fields,
      names: inputs.flatMap((input) => attr(input, 'name') ?? []),
      element,
    }
  })
}

function valueOf(input: Element): string | null {
  if (input.tagName === 'textarea')
    return input.childNodes.map((child) => (tree.isTextNode(child) ? child.value : '')).join('')
  if (input.tagName === 'select') {
    const options = byTag(input, 'option')
    const chosen = options.find((option) => attr(option, 'selected') !== null) ?? options[0]
    return chosen === undefined ? null : (attr(chosen, 'value') ?? textOf(chosen))
  }
  const type = attr(input, 'type') ?? 'text'
  if (type === 'checkbox' || type === 'radio')
    return attr(input, 'checked') === null ? null : (attr(input, 'value') ?? 'on')
  return attr(input, 'value') ?? ''
}

/** The form sent to this path; undefined when there is none. */
export function formTo(root: Parent, action: string): FormRead | undefined {
  return formsOf(root).find((form) => form.action === action)
}

/** The message beside a field. Null: none. */
export function errorOf(root: Parent, field: string): string | null {
  const element = byId(root, `${field}-error`)
  return element === null ? null : textOf(element)
}

/** The allowed htmx attributes and values. A browser ignores a misspelt one silently, so the list is closed. */
const HX_ATTRIBUTES: Readonly<Record<string, RegExp>> = {
  'hx-boost': /^(true|false)$/,
  'hx-get': /^\/[^/]/,
  'hx-post': /^\/[^/]/,
  'hx-target': /^(this|#[\w-]+|closest [\w.#-]+|find [\w.#-]+)$/,
  'hx-select': /^(unset|#[\w-]+)$/,
  'hx-swap':
    /^(innerHTML|outerHTML|beforebegin|afterbegin|beforeend|afterend|delete|none)( (show|scroll):[\w:#-]+| swap:\d+m?s| settle:\d+m?s| focus-scroll:(true|false)| ignoreTitle:true)*$/,
  'hx-swap-oob': /^(true|outerHTML|innerHTML)(:#[\w-]+)?$/,
  'hx-trigger':
    /^[\w:]+( (once|changed|delay:\d+m?s|throttle:\d+m?s|from:[\w#.-]+|every \d+s))*(, ?[\w:]+( (once|changed|delay:\d+m?s|throttle:\d+m?s|from:[\w#.-]+|\d+s))*)*$|^every \d+s$/,
  'hx-push-url': /^(true|false)$/,
  'hx-sync': /^(this|closest [\w.#-]+)(:(drop|abort|replace|queue( first| last| all)?))?$/,
  'hx-include': /^[\w .#[\]='-]+$/,
  'hx-indicator': /^#[\w-]+$/,
  'hx-disabled-elt': /^(this|find [\w.#-]+|closest [\w.#-]+)$/,
  'hx-preserve': /^(true)?$/,
  'hx-history': /^false$/,
  'hx-disinherit': /^[\w* -]+$/,
}

const validator = new HtmlValidate(
  new StaticConfigLoader({
    extends: ['html-validate:recommended', 'html-validate:document'],
    rules: {
      // layout of the source, not meaning
      'no-trailing-whitespace': 'off',
      'long-title': 'off',
      'attribute-boolean-style': 'off',
      'attribute-empty-style': 'off',
      'doctype-style': 'off',
      'void-style': 'off',
      // forms turn off the browser's own validation: messages stand beside the fields, and the server decides
      'no-redundant-for': 'off',
      'input-missing-label': 'error',
      'require-sri': 'off',
      'prefer-native-element': 'off',
      // a shared tablet must not offer to save a PIN
      'autocomplete-password': 'off',
    },
  }),
)

/**
 * Every fault of a page or a fragment: HTML faults, htmx attributes outside the list, inline script or style, a page
 * without exactly one h1. Empty when there is none.
 */
export async function checkHtml(text: string): Promise<readonly string[]> {
  const faults: string[] = []
  const isDocument = /^\s*<!doctype/i.test(text)
  const report = await validator.validateString(
    isDocument ? text : `<!doctype html>\n<html lang="en"><head><title>part</title></head><body>${text}</body></html>`,
  )
  for (const result of report.results) {
    for (const message of result.messages)
      faults.push(`${message.ruleId} at ${String(message.line)}:${String(message.column)}: ${message.message}`)
  }
  const root = parseHtml(text)
  for (const element of findAll(root)) {
    for (const { name, value } of element.attrs) {
      const allowed = HX_ATTRIBUTES[name]
      if (name.startsWith('hx-') && allowed === undefined)
        faults.push(`${name} is not an htmx attribute that is used here`)
      else if (allowed !== undefined && !allowed.test(value))
        faults.push(`${name}="${value}" is not a value that is used here`)
      if (name === 'style' || name.startsWith('on')) faults.push(`inline ${name} on <${element.tagName}>`)
    }
    if (element.tagName === 'style' || (element.tagName === 'script' && attr(element, 'src') === null))
      faults.push(`inline <${element.tagName}>`)
  }
  if (isDocument && byTag(root, 'h1').length !== 1) faults.push(`${String(byTag(root, 'h1').length)} h1 on the page`)
  return faults
}
