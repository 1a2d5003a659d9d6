/** The strip lots of the wards, and the form for a new lot with the control ranges of its label. */
import { z } from 'zod'
import { parseGlucose } from '../../shared/glucose/value.ts'
import { isLotExpired } from '../../shared/meter/control.ts'
import type { ControlRange } from '../../shared/meter/meter.ts'
import { enterStripLot, type StripLotRefusal } from '../../shared/meter/strips.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { isCalendarDate } from '../../shared/time/zone.ts'
import { stripLotForm, stripsPage, type LotRowView } from '../../views/setup/strips.ts'
import { formatDate } from '../../views/format.ts'
import { LOT_MARK, STRIP_LOT_SENTENCES } from '../../views/words/meter.ts'
import { formRoute } from '../http/forms.ts'
import { page } from '../http/page.ts'
import { EVERYBODY, LOT_KEEPERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { queryText } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { StripLot } from '../store/contract.ts'
import { ownWard, rangeText, setUpWards, type SetUpWard } from './meters-load.ts'
import { numberFor, valueFields, valueSentences, type ValueRefusal } from './meters-values.ts'

export function registerStrips(server: Server): void {
  route(server, { method: 'GET', url: '/setup/strips', roles: EVERYBODY }, (ctx) =>
    page(ctx, 200, { title: 'Strips', body: stripsPage(listView(ctx)) }),
  )
  formRoute(server, { url: '/setup/strips/new', roles: LOT_KEEPERS, query: LOT_QUERY, spec: stripLotSpec })
}

function listView(ctx: RequestContext): Parameters<typeof stripsPage>[0] {
  const mayEnter = LOT_KEEPERS.includes(ctx.actor.role)
  const wards = setUpWards(ctx).map((ward) => ({
    wardId: ward.wardId,
    name: ward.name,
    lots: [...ctx.store.stripLotsOfWard(ctx.scope, ward.wardId)]
      .sort((a, b) => (a.expiresOn < b.expiresOn ? 1 : -1))
      .map((lot) => lotRow(lot, ward, ctx.nowMs, mayEnter)),
  }))
  return { wards, mayEnter }
}

function lotRow(lot: StripLot, ward: SetUpWard, nowMs: number, mayEnter: boolean): LotRowView {
  const { ranges } = lot
  const isExpired = isLotExpired(lot, ward.zone, nowMs)
  return {
    lot: lot.lot,
    expires: formatDate(lot.expiresOn),
    mark: LOT_MARK[isExpired ? 'expired' : ranges === null ? 'no-ranges' : 'good'],
    ranges: ranges === null ? null : [rangeText(ranges.level1), rangeText(ranges.level2)],
    rangesPath:
      ranges !== null || isExpired || !mayEnter
        ? null
        : `setup/strips/new?ward=${ward.wardId}&lot=${encodeURIComponent(lot.lot)}`,
  }
}

const ENDS = ['level1From', 'level1To', 'level2From', 'level2To'] as const
const LOT_WRONG = { error: 'Scan or type the lot from the label: letters, digits, dots and dashes, at most 40.' }
const DATE_WRONG = { error: 'Enter the last day as it stands on the label.' }
const END_MISSING = { error: 'Type the number from the label.' }
const END = z.string(END_MISSING).trim().min(1, END_MISSING).max(10, { error: 'Type the number from the label.' })

const STRIP_LOT_FORM = z.strictObject({
  wardId: z.string({ error: 'Choose the ward.' }).regex(/^[a-z0-9]{16}$/, { error: 'Choose the ward.' }),
  lot: z
    .string(LOT_WRONG)
    .trim()
    .regex(/^[A-Za-z0-9][A-Za-z0-9 ./_-]{0,39}$/, LOT_WRONG),
  expiresOn: z
    .string(DATE_WRONG)
    .trim()
    .refine((text) => isCalendarDate(text), DATE_WRONG),
  knownExpired: z
    .literal('yes', { error: 'Tick it or leave it.' })
    .optional()
    .transform((value) => value === 'yes'),
  level1From: END,
  level1To: END,
  level2From: END,
  level2To: END,
})

type Fields = z.infer<typeof STRIP_LOT_FORM>
type EndRefusal = ValueRefusal<(typeof ENDS)[number]>

/** The lot whose label is to be completed. */
const LOT_QUERY = z.object({ ward: queryText, lot: queryText })

const stripLotSpec: FormSpec<
  Fields,
  StripLotRefusal | EndRefusal,
  RequestContext<object, z.output<typeof LOT_QUERY>>
> = {
  name: 'strip-lot',
  schema: STRIP_LOT_FORM,
  initial: (ctx) => {
    const wards = setUpWards(ctx)
    const ward = wards.find(({ wardId }) => wardId === ctx.query.ward) ?? ownWard(ctx, wards)
    const lot =
      ward === undefined
        ? undefined
        : ctx.store.stripLotsOfWard(ctx.scope, ward.wardId).find((one) => one.lot === ctx.query.lot)
    return { wardId: ward?.wardId ?? '', ...(lot === undefined ? {} : { lot: lot.lot, expiresOn: lot.expiresOn }) }
  },
  draw: drawStripLot,
  decide: (fields, ctx) => {
    const ward = setUpWards(ctx).find(({ wardId }) => wardId === fields.wardId)
    if (ward === undefined) return refuse('lot-ward-unknown')
    const level1 = rangeOf(fields, ['level1From', 'level1To'], ward)
    if (!level1.ok) return level1
    const level2 = rangeOf(fields, ['level2From', 'level2To'], ward)
    if (!level2.ok) return level2
    const { lot, expiresOn, knownExpired } = fields
    const existing = ctx.store.stripLotsOfWard(ctx.scope, ward.wardId).find((one) => one.lot === lot)
    const decision = enterStripLot(
      { lot, expiresOn, knownExpired, level1: level1.value, level2: level2.value, byId: ctx.actor.staffId },
      { ward, existing },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: '/setup/strips' } } : decision
  },
  sentences: { ...STRIP_LOT_SENTENCES, ...valueSentences(ENDS) },
  fieldOf: {
    ...valueFields(ENDS),
    'lot-date-wrong': 'expiresOn',
    'lot-date-far-off': 'expiresOn',
    'lot-expired': 'expiresOn',
    'lot-other-date': 'expiresOn',
    'lot-already-there': 'lot',
    'level1-turned-round': 'level1To',
    'level2-turned-round': 'level2To',
    'level2-not-above': 'level2From',
    'level1-out-of-range': 'level1To',
    'level2-out-of-range': 'level2To',
  },
  statusOf: { 'lot-already-there': 409 },
}

function rangeOf(
  fields: Fields,
  [from, to]: readonly [(typeof ENDS)[number], (typeof ENDS)[number]],
  { unit }: SetUpWard,
): Outcome<ControlRange, EndRefusal> {
  const lower = numberFor(from, parseGlucose(fields[from], unit))
  if (!lower.ok) return lower
  const upper = numberFor(to, parseGlucose(fields[to], unit))
  return upper.ok ? accept({ unit, from: lower.value.value, to: upper.value.value }) : upper
}

function drawStripLot(ctx: RequestContext, state: FormState): PageView | undefined {
  const wards = setUpWards(ctx)
  // a form that names no ward of this person's is shown again for their own
  const ward = wards.find(({ wardId }) => wardId === state.values['wardId']) ?? ownWard(ctx, wards)
  if (ward === undefined) return undefined
  const date = state.values['expiresOn'] ?? ''
  const asksExpired = isCalendarDate(date) && isLotExpired({ expiresOn: date }, ward.zone, ctx.nowMs)
  return { title: 'Strip lot', body: stripLotForm({ ...state, ward, asksExpired }) }
}
