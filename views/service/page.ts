/**
 * The state of the service itself: its database, the separate head file of the record, its backups. It contains no
 * patient data.
 */
import { html, type Html } from '../html.ts'
import { stateMark, warningLine } from '../parts.ts'
import { NOT_WELL, type NotWell } from '../words/service.ts'

export type BackupStateView = 'off' | 'well' | 'late' | 'failing'

export type ServiceView = {
  /** When this state was read, ward-local. */
  readonly asOf: string
  readonly notWell: readonly NotWell[]
  readonly database: {
    readonly readable: boolean
    readonly writable: boolean
    readonly file: string
    /** Bytes including the log, and free bytes on the disk. Null: unknown. */
    readonly sizeBytes: number | null
    readonly freeBytes: number | null
    readonly schema: number
    readonly rows: number
    readonly lastHash: string
    readonly lastUpgrade: string | null
  }
  readonly head: {
    readonly file: string | null
    /** null: the file is missing or cannot be read */
    readonly rows: number | null
    readonly failing: boolean
  }
  readonly backups: {
    readonly state: BackupStateView
    readonly folder: string | null
    /** "every 60 min, 48 are kept" */
    readonly rule: string
    readonly newest: string | null
    readonly kept: number
    readonly failure: { readonly at: string; readonly sentence: string } | null
  }
}

const BACKUP_MARK: Readonly<Record<BackupStateView, Parameters<typeof stateMark>[0]>> = {
  off: { shape: '■', word: 'No backups are made', tone: 'urgent' },
  well: { shape: '●', word: 'Well', tone: 'done' },
  late: { shape: '▲', word: 'Late', tone: 'due' },
  failing: { shape: '■', word: 'Failing', tone: 'urgent' },
}

/** 1 MB is a million bytes, as on disk labels. */
function bytes(count: number | null): string {
  if (count === null) return 'not known'
  return count >= 1e9 ? `${(count / 1e9).toFixed(1)} GB` : `${(count / 1e6).toFixed(1)} MB`
}

const fact = (name: string, value: Html | string): Html => html`<div><dt>${name}</dt><dd>${value}</dd></div>`
const rowsOf = (count: number): string => `${String(count)} ${count === 1 ? 'row' : 'rows'}`

export function servicePage({ asOf, notWell, database, head, backups }: ServiceView): Html {
  const answers = database.readable && database.writable
  return html`<h1>Service</h1>
<p class="muted">As of ${asOf}. Load the page again for how it stands now.</p>
${notWell.length === 0 ? html`<p class="card">${stateMark({ shape: '●', word: 'Well', tone: 'done' })} Nothing needs you here.</p>` : notWell.map((reason) => warningLine(NOT_WELL[reason]))}
<section class="card" aria-labelledby="database"><h2 id="database">Database</h2>
<dl class="facts">
${fact('State', answers ? stateMark({ shape: '●', word: 'Reads and writes', tone: 'done' }) : stateMark({ shape: '■', word: database.readable ? 'Cannot be written' : 'Cannot be read', tone: 'urgent' }))}
${fact('File', database.file)}
${fact('Size', bytes(database.sizeBytes))}
${fact('Free on its disk', bytes(database.freeBytes))}
${fact('Schema', String(database.schema))}
${fact('Record', `${rowsOf(database.rows)}, the last with the hash ${database.lastHash}`)}
${database.lastUpgrade === null ? null : fact('Last upgrade', database.lastUpgrade)}
</dl></section>
<section class="card" aria-labelledby="head"><h2 id="head">Head of the record, kept outside</h2>
<dl class="facts">
${fact('State', head.file === null ? 'Not kept' : head.failing ? stateMark({ shape: '■', word: 'Cannot be written', tone: 'urgent' }) : head.rows === null ? stateMark({ shape: '■', word: 'Not there, or not readable', tone: 'urgent' }) : stateMark({ shape: '●', word: 'Written', tone: 'done' }))}
${head.file === null ? null : fact('File', head.file)}
${head.rows === null ? null : fact('Knows', rowsOf(head.rows))}
</dl></section>
<section class="card" aria-labelledby="backups"><h2 id="backups">Backups</h2>
<dl class="facts">
${fact('State', stateMark(BACKUP_MARK[backups.state]))}
${backups.folder === null ? null : fact('Folder', backups.folder)}
${backups.folder === null ? null : fact('Rule', backups.rule)}
${backups.folder === null ? null : fact('Newest, found whole', backups.newest ?? 'none yet')}
${backups.folder === null ? null : fact('Kept now', String(backups.kept))}
${backups.failure === null ? null : fact(`Failed ${backups.failure.at}`, backups.failure.sentence)}
</dl></section>
<p><a class="quiet" href="/setup">Setup</a></p>`
}
