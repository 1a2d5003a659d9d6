/** What the service page is drawn from. Files are asked for off the event loop: a disk that hangs must not hold a ward. */
import { stat, statfs } from 'node:fs/promises'
import { dirname } from 'node:path'
import { formatAgo, formatDateTime, formatWhen } from '../../views/format.ts'
import type { ServiceView } from '../../views/service/page.ts'
import type { NotWell } from '../../views/words/service.ts'
import type { BackupStatus } from '../backup/schedule.ts'
import type { RequestContext } from '../http/request-context.ts'
import { zoneOf } from '../setup/people-load.ts'
import { readHead } from '../store/head.ts'

const MINUTE_MS = 60_000
/** Room for a backup beside it, an upgrade's copy and some weeks of charting; and never less than this. */
const LITTLE_ROOM_BYTES = 1e9
const OFF: BackupStatus = { state: 'off', newest: null, kept: 0, failure: null, sameDisk: null }

/** Everything the page shows, as it is now. */
export async function serviceView(ctx: RequestContext): Promise<ServiceView> {
  const { services, store, nowMs } = ctx
  const { databaseFile, headFile, backupFolder, backupEveryMin, backupKeep } = services.config
  const zone = zoneOf(ctx, [])
  const { readable, writable } = store.probe()
  const { schema, head, headFailing, lastUpgrade } = store.recordFacts()
  const disk = await diskOf(databaseFile)
  const kept = headFailing === null ? null : await keptHead(headFile)
  const backups = services.backups?.status() ?? OFF
  const notWell: readonly (readonly [NotWell, boolean])[] = [
    ['not-readable', !readable],
    ['not-writable', readable && !writable],
    ['little-room', disk.freeBytes !== null && disk.freeBytes < Math.max(LITTLE_ROOM_BYTES, 2 * (disk.sizeBytes ?? 0))],
    ['head-not-kept', headFailing === null],
    ['head-failing', headFailing === true],
    ['head-missing', headFailing === false && kept?.rows == null],
    ['head-same-disk', kept !== null && kept.device !== null && kept.device === disk.device],
    ['backups-off', backups.state === 'off'],
    ['backups-late', backups.state === 'late'],
    ['backups-failing', backups.state === 'failing'],
    ['backups-same-disk', backups.sameDisk === true],
  ]
  return {
    asOf: formatDateTime(nowMs, zone),
    notWell: notWell.filter(([, isSo]) => isSo).map(([reason]) => reason),
    database: {
      readable,
      writable,
      file: databaseFile,
      sizeBytes: disk.sizeBytes,
      freeBytes: disk.freeBytes,
      schema,
      rows: head.count,
      lastHash: head.hash,
      lastUpgrade,
    },
    head: { file: headFailing === null ? null : headFile, rows: kept?.rows ?? null, failing: headFailing === true },
    backups: {
      state: backups.state,
      folder: backupFolder,
      rule: `every ${String(backupEveryMin)} min; the newest ${String(backupKeep)} are kept`,
      newest:
        backups.newest === null
          ? null
          : `${formatWhen(backups.newest.atMs, nowMs, zone)}, ${formatAgo(backups.newest.ageMs / MINUTE_MS)}`,
      kept: backups.kept,
      failure:
        backups.failure === null
          ? null
          : { at: formatWhen(backups.failure.atMs, nowMs, zone), sentence: backups.failure.sentence },
    },
  }
}

type Disk = { readonly sizeBytes: number | null; readonly freeBytes: number | null; readonly device: number | null }

async function diskOf(file: string): Promise<Disk> {
  try {
    const [main, log, room] = await Promise.all([
      stat(file),
      stat(`${file}-wal`).catch(() => null),
      statfs(dirname(file)),
    ])
    return { sizeBytes: main.size + (log?.size ?? 0), freeBytes: room.bavail * room.bsize, device: main.dev }
  } catch {
    // in memory, or on a disk that went away: the probe tells whether it matters
    return { sizeBytes: null, freeBytes: null, device: null }
  }
}

/** The head as it stands in its file. */
async function keptHead(file: string): Promise<{ readonly rows: number | null; readonly device: number | null }> {
  try {
    const { dev } = await stat(file)
    return { rows: readHead(file)?.count ?? null, device: dev }
  } catch {
    return { rows: null, device: null }
  }
}
