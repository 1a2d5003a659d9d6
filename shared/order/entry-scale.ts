/** One scale of the order form: its typed rows, the answers for values in no row, and the answer above the last row. */
import { accept, refuse, withDetails, type Outcome, type Refused } from '../outcome.ts'
import { MOST_ANSWERED, MOST_ROWS, scaleField, type ScaleName, type Typed } from './entry-fields.ts'
import type { Scale, ScaleAnswer } from './order.ts'
import {
  scaleFromWritten,
  type ScaleLimits,
  type WrittenAnswer,
  type WrittenRefusal,
  type WrittenRow,
} from './written.ts'

export type EntryScaleRefusal =
  | WrittenRefusal
  | 'repeat-not-minutes'
  | 'units-not-typed'
  | 'answer-missing'
  | 'two-answers'
  | 'answered-value-missing'

/** Whole or half units as an order may print them. A trailing zero is refused: "1.0" has been read as 10 (ISMP, R). */
export function unitsOf(typed: string): number | null {
  return /^(?:\d{1,3}|\d{1,3}\.5)$/.test(typed) ? Number(typed) : null
}

/** Minutes until a printed repeat: 15 to 720, whole (common practice: 1 to 6 hours). Null: it is not such a number. */
export function repeatOf(typed: string): number | null {
  const minutes = /^\d{2,3}$/.test(typed) ? Number(typed) : 0
  return minutes >= 15 && minutes <= 720 ? minutes : null
}

/** True when any field of the scale has a value. */
export function hasTypedScale(typed: Typed, scale: ScaleName): boolean {
  const prefix = scaleField(scale, 'row')
  const answered = scaleField(scale, 'answered')
  const above = scaleField(scale, 'above')
  return Object.entries(typed).some(
    ([name, value]) =>
      (value ?? '').trim() !== '' &&
      [prefix, answered, above].some(
        (start) => name.startsWith(start) && /^\d|^Units$|^Call$/.test(name.slice(start.length)),
      ),
  )
}

/**
 * The typed scale, in `limits.unit`. Empty rows are skipped. Refuses what `scaleFromRows` refuses, a row without an
 * answer, and a row with two ("4" and "no dose, call"). A refusal names the value and, in `field`, the field.
 */
export function scaleFromTyped(typed: Typed, scale: ScaleName, limits: ScaleLimits): Outcome<Scale, EntryScaleRefusal> {
  const rows: WrittenRow[] = []
  const answered: WrittenAnswer[] = []
  /** The typed row or answer of each written row. */
  const rowAt: number[] = []
  const answeredAt: number[] = []
  const text = (place: string): string => (typed[scaleField(scale, place)] ?? '').trim()
  for (let index = 1; index <= MOST_ROWS; index++) {
    const place = `row${String(index)}`
    const [from, to, also] = [text(`${place}From`), text(`${place}To`), text(`${place}Also`)]
    const typedRepeat = text(`${place}Repeat`)
    if ([from, to, also, typedRepeat, text(`${place}Units`), text(`${place}Call`)].every((one) => one === '')) continue
    const answer = answerAt(text, scale, place, rowName(from, to))
    if (!answer.ok) return answer
    const repeatMin = typedRepeat === '' ? undefined : repeatOf(typedRepeat)
    if (repeatMin === null)
      return refuse('repeat-not-minutes', { typed: typedRepeat, field: scaleField(scale, `${place}Repeat`) })
    rows.push({
      from,
      to,
      answer: answer.value,
      also: also === '' ? null : also,
      ...(repeatMin === undefined ? {} : { repeatMin }),
    })
    rowAt.push(index)
  }
  for (let index = 1; index <= MOST_ANSWERED; index++) {
    const place = `answered${String(index)}`
    const [from, to] = [text(`${place}From`), text(`${place}To`)]
    if ([from, to, text(`${place}Units`), text(`${place}Call`)].every((one) => one === '')) continue
    if (from === '') return refuse('answered-value-missing', { field: scaleField(scale, `${place}From`) })
    const answer = answerAt(text, scale, place, rowName(from, to))
    if (!answer.ok) return answer
    answered.push({ from, to, answer: answer.value })
    answeredAt.push(index)
  }
  const above =
    text('aboveUnits') === '' && text('aboveCall') === ''
      ? accept(null)
      : answerAt(text, scale, 'above', 'above the last row')
  if (!above.ok) return above
  const made = scaleFromWritten({ rows, answered, afterLast: above.value }, limits)
  return made.ok ? made : inField(made, scale, rowAt, answeredAt)
}

function rowName(from: string, to: string): string {
  if (from === '') return to === '' ? 'without values' : `up to ${to}`
  return to === '' ? `from ${from}` : `${from}–${to}`
}

function answerAt(
  text: (place: string) => string,
  scale: ScaleName,
  place: string,
  row: string,
): Outcome<ScaleAnswer, EntryScaleRefusal> {
  const [units, call] = [text(`${place}Units`), text(`${place}Call`) !== '']
  const field = scaleField(scale, `${place}Units`)
  if (units === '') return call ? accept('call') : refuse('answer-missing', { row, field })
  if (call) return refuse('two-answers', { row, units, field })
  const count = unitsOf(units)
  return count === null ? refuse('units-not-typed', { typed: units, field }) : accept(count)
}

/** Maps a place among the written rows to the field in which it was typed. */
function inField(
  refused: Refused<WrittenRefusal>,
  scale: ScaleName,
  rowAt: readonly number[],
  answeredAt: readonly number[],
): Refused<WrittenRefusal> {
  const [, kind = 'row', count = '1', end = 'From'] =
    /^(row|answered|above)(\d*)(From|To|Units)$/.exec(refused.details.place ?? '') ?? []
  const typedAt = (kind === 'row' ? rowAt : answeredAt)[Number(count) - 1] ?? 1
  const field = scaleField(scale, kind === 'above' ? 'aboveUnits' : `${kind}${String(typedAt)}${end}`)
  return withDetails(refused, { field })
}
