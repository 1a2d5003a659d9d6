/** What the backup and restore commands and the service page say about what was not done. */

type Details = Readonly<Record<string, string | number>>

const value = (details: Details, name: string): string => String(details[name] ?? '–')

export type BackupWord =
  'no-database' | 'no-folder' | 'exists-already' | 'no-room' | 'not-writable' | 'copy-faulty' | 'store-fault'

export const BACKUP_SENTENCES: Readonly<Record<BackupWord, (details: Details) => string>> = {
  'no-database': (d) => `There is no database at ${value(d, 'file')}. Check DATABASE_FILE.`,
  'no-folder': (d) => `There is no folder ${value(d, 'folder')}. Make it, or mount its disk, and try again.`,
  'exists-already': (d) =>
    `${value(d, 'file')} is there already, and a backup never writes over a file. Choose another name.`,
  'no-room': (d) => `There is no room for ${value(d, 'file')}. Make room on its disk.`,
  'not-writable': (d) =>
    `${value(d, 'file')} cannot be written: its folder or its disk is read-only, or belongs to another account. Make it writable for the service.`,
  'copy-faulty': (d) =>
    `The copy was not kept, because what is in the database is damaged. Keep every backup that you have, and run the verify command.\n${value(d, 'faults')}`,
  'store-fault': (d) => value(d, 'sentence'),
}

export type RestoreWord =
  | 'no-backup'
  | 'same-file'
  | 'log-beside'
  | 'no-folder'
  | 'in-use'
  | 'maybe-in-use'
  | 'backup-faulty'
  | 'does-not-apply'
  | 'store-fault'

export const RESTORE_SENTENCES: Readonly<Record<RestoreWord, (details: Details) => string>> = {
  'no-backup': (d) => `There is no file ${value(d, 'file')}.`,
  'same-file': () => 'The backup and the database are one and the same file. Name the backup.',
  'log-beside': (d) =>
    `${value(d, 'file')} has a write-ahead log beside it, so it is not all in one file: it is in use, or was not closed. Make a backup of it first: DATABASE_FILE=${value(d, 'file')} npm run backup -- FILE`,
  'no-folder': (d) => `There is no folder ${value(d, 'folder')}. Make it, or mount its disk, and try again.`,
  'in-use': (d) =>
    `${value(d, 'file')} is in use. Stop the service, and every command that reads the database, then restore.`,
  'maybe-in-use': (d) =>
    `${value(d, 'file')} cannot be opened as a database, and a process still has it open. Stop the service, then restore.`,
  'backup-faulty': (d) =>
    `${value(d, 'file')} is damaged and was not restored. Take another backup.\n${value(d, 'faults')}`,
  'does-not-apply': (d) =>
    `${value(d, 'file')} was not restored: this version of the program cannot apply its record. Restore it with the program that made it.\n${value(d, 'faults')}`,
  'store-fault': (d) => value(d, 'sentence'),
}
