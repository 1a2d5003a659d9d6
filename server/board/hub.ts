/**
 * The live boards: one derivation and one message for each ward and change, sent to every open board of the ward.
 * Without changes it sends a heartbeat every few seconds.
 */
import { formatTime } from '../../views/format.ts'
import type { Services } from '../http/services.ts'
import { drawBoard, type DrawnBoard, type Part } from './draw.ts'
import { loadBoard } from './load.ts'

/** A board that receives nothing for two heartbeats and one second shows that it is disconnected: within 10 s. */
export const BEAT_MS = 4000
/** Number of heartbeats between two full access checks of each watcher. A change also triggers one. */
const WHOLE_EVERY = 5
/** A ward's changes are collected for this long and sent at most once in EVERY_MS: within 2 s on every board. */
const GATHER_MS = 100
const EVERY_MS = 1500

/** Why the service ended a stream. The board shows it and does not reconnect by itself. */
export type EndReason = 'login' | 'ward' | 'elsewhere'

/** One open board, of one ward or of the lines of several. */
export type Watcher = {
  readonly shows: 'board' | 'lines'
  /** The board's one ward, or every ward that has a line. */
  readonly wardIds: readonly string[]
  /** Writes a message, or closes the stream when its reader is too slow. */
  readonly send: (message: string | Buffer) => void
  readonly end: (reason: EndReason) => void
  /**
   * Null while the stream may continue, on a ward that locks after this many minutes. Each heartbeat checks only
   * whether the session was signed out or unused for too long. With `whole` it checks person, role and wards too: after
   * a write to the ward and at every fifth heartbeat.
   */
  readonly over: (idleLockMin: number, whole: boolean) => EndReason | null
}

export type CachedBoard = {
  readonly drawn: DrawnBoard
  /** Identifies the rendered content: the same version is the same board. */
  readonly version: string
  readonly zone: string
  readonly idleLockMin: number
  readonly wardName: string
}

type Feed = CachedBoard & {
  readonly dataVersion: number
  readonly policyVersion: number
  readonly madeAtMs: number
  readonly validUntilMs: number
}

/** Who watches one ward, and the board last sent to them. Pages rendered in between do not change that. */
type Watched = { readonly watchers: Set<Watcher>; sent: CachedBoard | undefined }

export class BoardHub {
  readonly #services: Services
  readonly #bootId: string
  readonly #watched = new Map<string, Watched>()
  /** The newest rendering of each ward. */
  readonly #feeds = new Map<string, Feed>()
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

  /**
   * The ward's current board, rendered again only when a write or the clock has changed it. Undefined: no such ward.
   */
  boardOf(wardId: string): CachedBoard | undefined {
    const { store } = this.#services
    const nowMs = this.#services.now()
    // for all viewers of the ward; each one's access was checked before
    const scope = { staffId: '', role: 'charge-nurse', wardIds: [wardId] } as const
    const known = this.#feeds.get(wardId)
    const dataVersion = store.wardVersion(scope, wardId)
    if (
      known !== undefined &&
      known.dataVersion === dataVersion &&
      nowMs >= known.madeAtMs &&
      nowMs < known.validUntilMs &&
      store.wardPolicy(scope, wardId, nowMs)?.version === known.policyVersion
    )
      return known
    const loaded = dataVersion === undefined ? undefined : loadBoard({ store, scope, nowMs }, wardId)
    if (loaded === undefined || dataVersion === undefined) return undefined
    const { facts } = loaded.snapshot
    const drawn = drawBoard(loaded)
    const same =
      known !== undefined && changes(known.drawn, drawn) === null && textOf(known.drawn.line) === textOf(drawn.line)
    const feed: Feed = {
      drawn: same ? known.drawn : drawn,
      version: same ? known.version : `${this.#bootId}.${String(++this.#count)}`,
      zone: facts.policy.policy.zone,
      idleLockMin: facts.policy.policy.idleLockMin,
      wardName: facts.ward.name,
      dataVersion,
      policyVersion: facts.policy.version,
      madeAtMs: nowMs,
      validUntilMs: loaded.board.validUntilMs,
    }
    this.#feeds.set(wardId, feed)
    return feed
  }

  /**
   * Starts sending to the board, which already shows `version`. Sends the whole board first, unless that version is the
   * newest.
   */
  add(watcher: Watcher, version: string): void {
    // send changes to present watchers, so that all have the same version
    for (const wardId of watcher.wardIds) this.#refresh(wardId)
    const boards = watcher.wardIds.flatMap((wardId) => this.boardOf(wardId) ?? [])
    const [first] = boards
    if (first === undefined || boards.length < watcher.wardIds.length) {
      watcher.end('ward')
      return
    }
    watcher.wardIds.forEach((wardId, index) => {
      const watched = this.#watched.get(wardId) ?? { watchers: new Set(), sent: undefined }
      this.#watched.set(wardId, watched)
      watched.watchers.add(watcher)
      watched.sent = boards[index]
    })
    const nowMs = this.#services.now()
    const has = watcher.shows === 'board' && version === first.version
    watcher.send(
      has
        ? beat(nowMs, first.zone)
        : watcher.shows === 'board'
          ? whole(first, nowMs)
          : says('full', first, nowMs, {
              put: boards.map(({ drawn }) => [drawn.line.part, textOf(drawn.line)] as const),
              needs: [],
            }),
    )
    this.#beat ??= setInterval(() => {
      this.#beatAll()
    }, BEAT_MS)
  }

  remove(watcher: Watcher): void {
    for (const wardId of watcher.wardIds) {
      const watched = this.#watched.get(wardId)
      watched?.watchers.delete(watcher)
      if (watched?.watchers.size === 0) this.#watched.delete(wardId)
    }
    if (this.#watched.size === 0 && this.#beat !== null) {
      clearInterval(this.#beat)
      this.#beat = null
    }
  }

  /** Stops listening and all timers. The owners of the streams end them. */
  close(): void {
    this.#stopListening()
    if (this.#beat !== null) clearInterval(this.#beat)
    for (const timer of this.#waiting.values()) clearTimeout(timer)
    this.#waiting.clear()
  }

  /**
   * A write touched the ward, so its boards are updated soon, several writes at once. It only notes the ward, because
   * the writer waits.
   */
  #touched(wardId: string): void {
    if (!this.#watched.has(wardId) || this.#waiting.has(wardId)) return
    const sinceMs = this.#services.mono() - (this.#sentAt.get(wardId) ?? -EVERY_MS)
    this.#waiting.set(
      wardId,
      setTimeout(
        () => {
          this.#waiting.delete(wardId)
          this.#sentAt.set(wardId, this.#services.mono())
          // do not send the change to watchers who may no longer see the ward
          this.#dropOver(this.#watched.get(wardId)?.watchers ?? [], true)
          this.#refresh(wardId)
        },
        Math.max(GATHER_MS, EVERY_MS - sinceMs),
      ),
    )
  }

  #beatAll(): void {
    this.#beats++
    this.#dropOver(
      new Set([...this.#watched.values()].flatMap(({ watchers }) => [...watchers])),
      this.#beats % WHOLE_EVERY === 0,
    )
    const told = new Set<Watcher>()
    for (const wardId of [...this.#watched.keys()]) for (const watcher of this.#refresh(wardId)) told.add(watcher)
    const messages = new Map<string, Buffer>()
    for (const [wardId, { watchers, sent }] of this.#watched) {
      if (sent === undefined) continue
      const message = messages.get(sent.zone) ?? Buffer.from(beat(this.#services.now(), sent.zone))
      messages.set(sent.zone, message)
      // a page of many wards gets it once, with its first ward's timer
      for (const watcher of watchers) if (watcher.wardIds[0] === wardId && !told.has(watcher)) watcher.send(message)
    }
  }

  #dropOver(watchers: Iterable<Watcher>, whole: boolean): void {
    for (const watcher of watchers) {
      const reason = watcher.over(this.idleLockMin(watcher.wardIds), whole)
      if (reason !== null) watcher.end(reason)
    }
  }

  /** Minutes without use after which a page of these wards is locked: the shortest of them. */
  idleLockMin(wardIds: readonly string[]): number {
    return Math.min(
      ...wardIds.map((wardId) => (this.#watched.get(wardId)?.sent ?? this.boardOf(wardId))?.idleLockMin ?? 0),
    )
  }

  /** Updates the ward's board and sends the changes to its watchers. Returns who received something. */
  #refresh(wardId: string): readonly Watcher[] {
    const board = this.boardOf(wardId)
    const watched = this.#watched.get(wardId)
    if (board === undefined || watched?.sent === undefined || watched.sent.version === board.version) return []
    const { sent, watchers } = watched
    watched.sent = board
    const nowMs = this.#services.now()
    const changed = sent.drawn.beds.length === board.drawn.beds.length ? changes(sent.drawn, board.drawn) : 'all'
    // a changed list of beds needs the whole board
    const forBoards =
      changed === null
        ? null
        : Buffer.from(changed === 'all' ? whole(board, nowMs) : says('change', board, nowMs, changed))
    const { line } = board.drawn
    const forLines =
      textOf(line) === textOf(sent.drawn.line)
        ? null
        : Buffer.from(says('change', board, nowMs, { put: [[line.part, textOf(line)]], needs: [] }))
    return [...watchers].filter((watcher) => {
      const message = watcher.shows === 'board' ? forBoards : forLines
      if (message !== null) watcher.send(message)
      return message !== null
    })
  }
}

type Changes = { readonly put: readonly (readonly [part: string, html: string])[]; readonly needs: readonly string[] }

/** The parts that differ. Null: none. `needs` is their current order without the removed ones. */
function changes(before: DrawnBoard, now: DrawnBoard): Changes | null {
  const was = new Map(partsOf(before).map((one) => [one.part, textOf(one)]))
  const put = partsOf(now)
    .map((one) => [one.part, textOf(one)] as const)
    .filter(([part, text]) => was.get(part) !== text)
  const needs = now.needs.map(({ part }) => part)
  const sameOrder =
    needs.length === before.needs.length && needs.every((part, index) => part === before.needs[index]?.part)
  return put.length === 0 && sameOrder && before.beds.length === now.beds.length ? null : { put, needs }
}

function textOf({ html }: Part): string {
  return html.toString()
}

function partsOf({ head, needs, beds, pace }: DrawnBoard): readonly Part[] {
  return [head, ...needs, ...beds, pace]
}

function whole(board: CachedBoard, nowMs: number): string {
  const { drawn } = board
  return says('full', board, nowMs, {
    put: partsOf(drawn).map((one) => [one.part, textOf(one)] as const),
    needs: drawn.needs.map(({ part }) => part),
  })
}

function says(
  event: 'full' | 'change',
  { version, zone }: CachedBoard,
  nowMs: number,
  { put, needs }: Changes,
): string {
  return `event: ${event}\ndata: ${JSON.stringify({ version, now: nowMs, at: formatTime(nowMs, zone), put, needs })}\n\n`
}

function beat(nowMs: number, zone: string): string {
  return `event: beat\ndata: ${JSON.stringify({ now: nowMs, at: formatTime(nowMs, zone) })}\n\n`
}
