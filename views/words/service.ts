/** What may be wrong with the service itself, and what to do, a sentence each. */

export type NotWell =
  | 'not-readable'
  | 'not-writable'
  | 'little-room'
  | 'head-not-kept'
  | 'head-failing'
  | 'head-missing'
  | 'head-same-disk'
  | 'backups-off'
  | 'backups-late'
  | 'backups-failing'
  | 'backups-same-disk'

export const NOT_WELL: Readonly<Record<NotWell, string>> = {
  'not-readable': 'The database cannot be read. Chart on paper, and call whoever runs the machine.',
  'not-writable':
    'The database cannot be written, so nothing can be charted. Chart on paper, and call whoever runs the machine.',
  'little-room':
    'There is little room left on the disk of the database. Make room before it is full: then nothing can be charted.',
  'head-not-kept':
    'The head of the record is not kept outside the database, so a cut tail would not show. Set HEAD_FILE.',
  'head-failing':
    'The head of the record cannot be written outside the database, so a cut tail would not show. Look at the disk of HEAD_FILE.',
  'head-missing':
    'The head of the record is not there, or cannot be read. It is written a second after the next entry; if this stays, look at HEAD_FILE and run the verify command.',
  'head-same-disk':
    'The head of the record is on the same disk as the database: whoever can change one can change both. Put HEAD_FILE on another disk.',
  'backups-off': 'No backups are made. Set BACKUP_FOLDER to a folder on another disk.',
  'backups-late':
    'The newest backup is older than two turns. Look at the disk of the backups, and make one with the backup command.',
  'backups-failing': 'The last backup failed; the reason is below. It is tried again at the next turn.',
  'backups-same-disk':
    'The backups are on the same disk as the database: a disk that dies takes both. Put BACKUP_FOLDER on another disk.',
}
