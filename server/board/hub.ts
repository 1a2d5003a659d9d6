/**
 * The live boards: one derivation and one message for each ward and change, sent to every open board of the ward. While
 * nothing changes it only says, every few seconds, that it is there.
 */
import { formatTime } from '../../views/format.ts'
import type { Services } from '../http/visit.ts'
import { drawBoard, type DrawnBoard, type Part } from './draw.ts'
import { loadBoard } from './load.ts'

/** A board that hears nothing for two of these, and one second, says that it is cut off (design: within 10 s). */
export const BEAT_MS = 4000
/** A ward's changes are gathered for this long, and sent at most once in EVERY_MS: within 2 s on every board. */
const GATHER_MS = 100
const EVERY_MS = 1500

/** Why a stream is ended by the service: the board says it and does not come back by itself. */
export type EndReason = 'login' | 'ward' | 'elsewhere'

/** One open board. */
export type Watcher = {
  readonly wardId: string
  /** Writes a message, or gives the stream up when its reader is too slow. */
  readonly send: (message: string | Buffer) => void
  readonly end: (reason: EndReason) => void
  /**
   * Null while it may go on, on a ward that locks after so many minutes. Asked at each beat, where a login signed out or
   * unused is enough; and `whole` when a write touched the ward and at every third beat: person, role, ward and all.
   */
  readonly over: (idleLockMin: number, whole: boolean) => EndReason | null
}

export type KeptBoard = {
  readonly drawn: DrawnBoard
  /** Names what is drawn: the same version is the same board. */
  readonly version: string
  readonly zone: string
  readonly idleLockMin: number
  readonly wardName: string
}

type Feed = KeptBoard & { readonly dataVersion: number; readonly policyVersion: number; readonly madeAtMs: number; readonly validUntilMs: number }

export class BoardHub {
  readonly #services: Services
  readonly #bootId: string
  readonly #watchers = new Map<string, Set<Watcher>>()
  /** The newest drawing of each ward. */
  readonly #feeds = new Map<string, Feed>()
  /** What the watchers of each ward have; a page drawn in between does not change that. */
  readonly #sent = new Map<string, KeptBoard>()
  readonly #waiting = new Map<string, NodeJS.Timeout>()
  readonly #sentAt = new Map<string, number>()
  readonly #stopListening: () => void
  #beat: NodeJS.Timeout | null = null
  #count = 0
  #beats = 0

  constructor(services: Services) {
    this.#services = services
    this.#bootId = services.newId()
    this.#stopListening = services.store.onWrite((wardIds) => {
      for (const wardId of wardIds) this.#touched(wardId)
    })
  }

  /** The ward's board as it stands now, drawn anew only when a write or the clock has changed it. Undefined: no such ward. */
  boardOf(wardId: string): KeptBoard | undefined {
    const { store } = this.#services
    const nowMs = this.#services.now()
    // for every viewer of the ward, whose own right to it was asked before
    const scope = { staffId: '', role: 'charge-nurse', wardIds: [wardId] } as const
    const known = this.#feeds.get(wardId)
    const dataVersion = store.wardVersion(scope, wardId)
    if (known !== undefined && known.dataVersion === dataVersion && nowMs >= known.madeAtMs && nowMs < known.validUntilMs && store.wardPolicy(scope, wardId, nowMs)?.version === known.policyVersion) return known
    const loaded = dataVersion === undefined ? undefined : loadBoard({ store, scope, nowMs }, wardId)
    if (loaded === undefined || dataVersion === undefined) return undefined
    const { facts } = loaded.snapshot
    const drawn = drawBoard(loaded)
    const same = known !== undefined && changes(known.drawn, drawn) === null
    const feed: Feed = {
      drawn: same ? known.drawn : drawn, version: same ? known.version : `${this.#bootId}.${String(++this.#count)}`, zone: facts.policy.policy.zone, idleLockMin: facts.policy.policy.idleLockMin, wardName: facts.ward.name,
      dataVersion, policyVersion: facts.policy.version, madeAtMs: nowMs, validUntilMs: loaded.board.validUntilMs,
    }
    this.#feeds.set(wardId, feed)
    return feed
  }

  /** Begins to send to the board, which shows `version` already: the whole of it first, unless that is the newest. */
  add(watcher: Watcher, version: string): void {
    const { wardId } = watcher
    const board = this.#refresh(wardId)
    if (board === undefined) {
      watcher.end('ward')
      return
    }
    const others = this.#watchers.get(wardId) ?? new Set()
    this.#watchers.set(wardId, others.add(watcher))
    this.#sent.set(wardId, board)
    watcher.send(version === board.version ? beat(this.#services.now(), board.zone) : whole(board, this.#services.now()))
    this.#beat ??= setInterval(() => { this.#beatAll() }, BEAT_MS)
  }

  remove(watcher: Watcher): void {
    const watchers = this.#watchers.get(watcher.wardId)
    watchers?.delete(watcher)
    if (watchers?.size === 0) {
      this.#watchers.delete(watcher.wardId)
      this.#sent.delete(watcher.wardId)
    }
    if (this.#watchers.size === 0 && this.#beat !== null) {
      clearInterval(this.#beat)
      this.#beat = null
    }
  }

  /** Stops listening and every timer. The streams are ended by whoever opened them. */
  close(): void {
    this.#stopListening()
    if (this.#beat !== null) clearInterval(this.#beat)
    for (const timer of this.#waiting.values()) clearTimeout(timer)
    this.#waiting.clear()
  }

  /** A write touched the ward: its boards are told soon, several writes at once. Only takes note, for the writer waits. */
  #touched(wardId: string): void {
    if (!this.#watchers.has(wardId) || this.#waiting.has(wardId)) return
    const sinceMs = this.#services.mono() - (this.#sentAt.get(wardId) ?? -EVERY_MS)
    this.#waiting.set(wardId, setTimeout(() => {
      this.#waiting.delete(wardId)
      this.#sentAt.set(wardId, this.#services.mono())
      // whoever may not see the ward any more is not sent what changed
      this.#dropOver(wardId, true)
      this.#refresh(wardId)
    }, Math.max(GATHER_MS, EVERY_MS - sinceMs)))
  }

  #beatAll(): void {
    this.#beats++
    for (const [wardId, watchers] of this.#watchers) {
      this.#dropOver(wardId, this.#beats % 3 === 0)
      const before = this.#sent.get(wardId)?.version
      const board = this.#refresh(wardId)
      if (board === undefined || board.version !== before) continue
      const message = Buffer.from(beat(this.#services.now(), board.zone))
      for (const watcher of watchers) watcher.send(message)
    }
  }

  #dropOver(wardId: string, whole: boolean): void {
    const { idleLockMin } = this.#sent.get(wardId) ?? { idleLockMin: 0 }
    for (const watcher of this.#watchers.get(wardId) ?? []) {
      const reason = watcher.over(idleLockMin, whole)
      if (reason !== null) watcher.end(reason)
    }
  }

  /** Brings the ward's board up to date and sends what changed to those who watch it. */
  #refresh(wardId: string): KeptBoard | undefined {
    const board = this.boardOf(wardId)
    const sent = this.#sent.get(wardId)
    const watchers = this.#watchers.get(wardId)
    if (board === undefined || watchers === undefined || sent?.version === board.version) return board
    this.#sent.set(wardId, board)
    const nowMs = this.#services.now()
    const changed = sent === undefined || sent.drawn.beds.length !== board.drawn.beds.length ? null : changes(sent.drawn, board.drawn)
    // a ward whose beds were changed has other places: the whole of it
    const message = Buffer.from(changed === null ? whole(board, nowMs) : says('change', board, nowMs, changed))
    for (const watcher of watchers) watcher.send(message)
    return board
  }
}

type Changes = { readonly put: readonly (readonly [part: string, html: string])[]; readonly needs: readonly string[] }

/** The parts that differ; null when none does. `needs` is their order now, gone ones left out. */
function changes(before: DrawnBoard, now: DrawnBoard): Changes | null {
  const was = new Map(partsOf(before).map(({ part, html }) => [part, html.toString()]))
  const put = partsOf(now).map(({ part, html }) => [part, html.toString()] as const).filter(([part, text]) => was.get(part) !== text)
  const needs = now.needs.map(({ part }) => part)
  const sameOrder = needs.length === before.needs.length && needs.every((part, index) => part === before.needs[index]?.part)
  return put.length === 0 && sameOrder && before.beds.length === now.beds.length ? null : { put, needs }
}

function partsOf({ head, needs, beds, pace }: DrawnBoard): readonly Part[] {
  return [head, ...needs, ...beds, pace]
}

function whole(board: KeptBoard, nowMs: number): string {
  const { drawn } = board
  return says('full', board, nowMs, { put: partsOf(drawn).map(({ part, html }) => [part, html.toString()] as const), needs: drawn.needs.map(({ part }) => part) })
}

function says(event: 'full' | 'change', { version, zone }: KeptBoard, nowMs: number, { put, needs }: Changes): string {
  return `event: ${event}\ndata: ${JSON.stringify({ version, now: nowMs, at: formatTime(nowMs, zone), put, needs })}\n\n`
}

function beat(nowMs: number, zone: string): string {
  return `event: beat\ndata: ${JSON.stringify({ now: nowMs, at: formatTime(nowMs, zone) })}\n\n`
}
