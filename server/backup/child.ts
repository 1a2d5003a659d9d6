/**
 * The process that runs one scheduled backup and exits: `node child.js '{…}'`. It has a lower priority than the service
 * that started it, and reports the result in one message.
 */
import { constants, setPriority } from 'node:os'
import { runScheduledBackup, type ScheduledBackupInput } from './scheduled-backup.ts'

setPriority(constants.priority.PRIORITY_BELOW_NORMAL)
// exit with the service, also when the service was killed
process.once('disconnect', () => process.exit(1))
process.send?.(runScheduledBackup(JSON.parse(process.argv[2] ?? '') as ScheduledBackupInput), () => process.exit(0))
