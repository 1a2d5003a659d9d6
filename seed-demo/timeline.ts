/** What happens in the demo's week, one thing after another, each at its own held instant. */

export type Happening = (nowMs: number) => void

export type Timeline = {
  /** Plans something at an instant; what is planned for the same instant happens in the order in which it was planned. */
  readonly at: (ms: number, happening: Happening) => void
  /** Lets everything happen that is planned before `untilMs` (out), also what is planned on the way. */
  readonly run: (untilMs: number) => void
}

export function timeline(): Timeline {
  const planned: { readonly ms: number; readonly happening: Happening }[] = []
  return {
    at: (ms, happening) => {
      // kept in order by time, so that the ledger is
      let low = 0
      let high = planned.length
      while (low < high) {
        const middle = (low + high) >> 1
        if ((planned[middle]?.ms ?? 0) <= ms) low = middle + 1
        else high = middle
      }
      planned.splice(low, 0, { ms, happening })
    },
    run: (untilMs) => {
      for (let next = planned[0]; next !== undefined && next.ms < untilMs; next = planned[0]) {
        planned.shift()
        next.happening(next.ms)
      }
    },
  }
}
