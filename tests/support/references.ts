/** References of a document to tests: `folder/file` “part of a title”. */
import { filesBelow, literalsOf } from './house.ts'

export type Reference = { readonly name: string; readonly title: string }

export const referencesIn = (text: string): readonly Reference[] =>
  [...text.matchAll(/`([\w/-]+)` “([^”]+)”/g)].map(([, name = '', title = '']) => ({ name, title }))

const files = filesBelow('tests', ['.test.ts'])

/** The fault of a reference. Null: the file exists and has such a title. */
export function faultOf({ name, title }: Reference): string | null {
  const file = `tests/${name}.test.ts`
  if (!files.includes(file)) return `${name}: no file`
  return literalsOf(file).some((literal) => literal.includes(title)) ? null : `${name}: no title with “${title}”`
}
