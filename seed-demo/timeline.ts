/** The planned actions of the demo's week, run one after another, each at its own fixed time. */

export type PlannedAction = (nowMs: number) => void

export type Timeline = {
  /** Plans an action. Actions of the same instant run in the order in which they were planned. */
  readonly at: (ms: number, action: PlannedAction) => void
  /** Runs all actions planned before `untilMs` (excluded), and those that they plan in turn. */
  readonly run: (untilMs: number) => void
}

export function timeline(): Timeline {
  const planned: { readonly ms: number; readonly action: PlannedAction }[] = []
  return {
    at: (ms, action) => {
      // keep the plan sorted by time, so that the ledger is in order
      let low = 0
      let high = planned.length
      while (low < high) {
        const middle = (low + high) >> 1
        if ((planned[middle]?.ms ?? 0) <= ms) low = middle + 1
        else high = middle
      }
      planned.splice(low, 0, { ms, action })
    },
    run: (untilMs) => {
      for (let next = planned[0]; next !== undefined && next.ms < untilMs; next = planned[0]) {
        planned.shift()
        next.action(next.ms)
      }
    },
  }
}
