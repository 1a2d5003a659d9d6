/** What the backup and restore commands and the service page say about what was not done. */
import type { Sentences } from '../../shared/outcome.ts'

export type BackupWord =
  'no-database' | 'no-folder' | 'exists-already' | 'no-room' | 'not-writable' | 'copy-faulty' | 'store-fault'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'no-database': { file: string }
    'no-folder': { folder: string }
    'exists-already': { file: string }
    'no-room': { file: string }
    'not-writable': { file: string }
    'copy-faulty': { faults: string }
    'store-fault': { sentence: string }
    'no-backup': { file: string }
    'log-beside': { file: string }
    'in-use': { file: string }
    'maybe-in-use': { file: string }
    'backup-faulty': { file: string; faults: string }
    'does-not-apply': { file: string; faults: string }
  }
}

export const BACKUP_SENTENCES: Sentences<BackupWord> = {
  'no-database': (d) => `There is no database at ${d.file}. Check DATABASE_FILE.`,
  'no-folder': (d) => `There is no folder ${d.folder}. Make it, or mount its disk, and try again.`,
  'exists-already': (d) => `${d.file} is there already, and a backup never writes over a file. Choose another name.`,
  'no-room': (d) => `There is no room for ${d.file}. Make room on its disk.`,
  'not-writable': (d) =>
    `${d.file} cannot be written: its folder or its disk is read-only, or belongs to another account. Make it writable for the service.`,
  'copy-faulty': (d) =>
    `The copy was not kept, because what is in the database is damaged. Keep every backup that you have, and run the verify command.\n${d.faults}`,
  'store-fault': (d) => d.sentence,
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

export const RESTORE_SENTENCES: Sentences<RestoreWord> = {
  'no-backup': (d) => `There is no file ${d.file}.`,
  'same-file': () => 'The backup and the database are one and the same file. Name the backup.',
  'log-beside': (d) =>
    `${d.file} has a write-ahead log beside it, so it is not all in one file: it is in use, or was not closed. Make a backup of it first: DATABASE_FILE=${d.file} npm run backup -- FILE`,
  'no-folder': (d) => `There is no folder ${d.folder}. Make it, or mount its disk, and try again.`,
  'in-use': (d) => `${d.file} is in use. Stop the service, and every command that reads the database, then restore.`,
  'maybe-in-use': (d) =>
    `${d.file} cannot be opened as a database, and a process still has it open. Stop the service, then restore.`,
  'backup-faulty': (d) => `${d.file} is damaged and was not restored. Take another backup.\n${d.faults}`,
  'does-not-apply': (d) =>
    `${d.file} was not restored: this version of the program cannot apply its record. Restore it with the program that made it.\n${d.faults}`,
  'store-fault': (d) => d.sentence,
}
