/**
 * The process that takes one turn of the scheduled backups and ends: `node child.js '{…}'`. It is nicer to the machine
 * than the service that started it, and tells it what came of the turn in one message.
 */
import { constants, setPriority } from 'node:os'
import { runScheduledBackup, type ScheduledBackupInput } from './scheduled-backup.ts'

setPriority(constants.priority.PRIORITY_BELOW_NORMAL)
// ends with the service, also when that was killed
process.once('disconnect', () => process.exit(1))
process.send?.(runScheduledBackup(JSON.parse(process.argv[2] ?? '') as ScheduledBackupInput), () => process.exit(0))
