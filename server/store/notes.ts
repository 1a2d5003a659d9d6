/** Small facts about the database file itself: that it is a demo's, and where the demo's clock stands. */
import { connect, type Connection } from './connection.ts'
import type { Store } from './contract.ts'

/** Prepares the two calls of the store's contract. */
export function notesOf({ raw }: Connection): Pick<Store, 'note' | 'setNote'> {
  const read = raw.prepare<[string], { text: string }>('SELECT text FROM note WHERE name = ?')
  const write = raw.prepare<[string, string]>(
    'INSERT INTO note (name, text) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET text = excluded.text',
  )
  return {
    note: (name) => read.get(name)?.text,
    setNote: (name, text) => {
      write.run(name, text)
    },
  }
}

/**
 * A note of a database that must not be touched before it is known: opened read-only, changed in nothing. Undefined
 * when the file has no such note, or is of a schema from before there were notes.
 */
export function noteInFile(file: string, name: string): string | undefined {
  const { raw } = connect(file, 'read-only')
  try {
    const hasNotes =
      raw.prepare("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'note'").get() !== undefined
    return hasNotes
      ? raw.prepare<[string], { text: string }>('SELECT text FROM note WHERE name = ?').get(name)?.text
      : undefined
  } finally {
    raw.close()
  }
}
