/** GET /stays/:stayId/history: the history of a stay: who changed what, and when. */
import { changedFacts, FACT_NAMES } from '../../shared/stay/facts.ts'
import type { BedsideFacts, FactsVersion } from '../../shared/stay/stay.ts'
import type { IdentityVersion } from '../../shared/stay/identity.ts'
import { formatDate, formatDateTime, formatName } from '../../views/format.ts'
import { historyPage, type ChangeView } from '../../views/stay/history.ts'
import { FACT, factText, nilSpanText } from '../../views/words/stay.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import { spanText } from './feed.ts'
import { lineText } from './plan.ts'
import type { StayRequest } from '../http/parameters.ts'

export function history(ctx: StayRequest): PageResponse {
  const facts = stayOfAddress(ctx)
  const found = facts === undefined ? undefined : ctx.store.stayHistory(ctx.scope, facts.stay.stayId)
  if (facts === undefined || found === undefined) return messageResponse(ctx, 404, 'not-found')
  const {
    stay,
    policy: {
      policy: { zone },
    },
  } = facts
  recordPatientRead(ctx, stay.stayId)
  const { nowMs } = ctx
  // the wards where the patient was are part of the history; a ward's name reveals no other patient
  const wardName = new Map(ctx.store.wardBeds(nowMs).map(({ wardId, name }) => [wardId, name]))
  const seesPrevious =
    found.previousStayId !== null && ctx.store.stayFacts(ctx.scope, found.previousStayId, nowMs) !== undefined
  return page(ctx, 200, {
    title: 'History of the stay',
    body: historyPage({
      stayId: stay.stayId,
      patient: bannerOf(facts, nowMs, true),
      admitted: formatDateTime(stay.admittedAtMs, zone),
      discharged: stay.dischargedAtMs === null ? null : formatDateTime(stay.dischargedAtMs, zone),
      previous: found.previousStayId === null ? null : { stayId: seesPrevious ? found.previousStayId : null },
      facts: found.facts.map((version, at) => factsChange(ctx, version, found.facts[at - 1], zone)).reverse(),
      identities: ctx.store
        .identityHistory(ctx.scope, stay.stayId)
        .map((version, at, all) => identityChange(ctx, version, all[at - 1], zone))
        .reverse(),
      beds: found.beds.map(({ wardId, bed, fromMs, toMs }) => ({
        where: `${wardName.get(wardId) ?? 'another ward'}, bed ${bed}`,
        span: spanText({ fromMs, untilMs: toMs }, nowMs, zone),
      })),
      plans: found.plans
        .filter((one) => one.untilMs !== one.fromMs)
        .map((one) => ({ text: lineText(one, { nowMs }, zone), overlay: one.overlay })),
      interruptions: found.interruptions.map((one) => ({
        text: `${spanText(one, nowMs, zone)}: ${one.reason}`,
        by: nameOf(ctx, one.byId),
      })),
    }),
  })
}

function factsChange(
  ctx: StayRequest,
  version: FactsVersion,
  before: FactsVersion | undefined,
  zone: string,
): ChangeView {
  const at = { nowMs: ctx.nowMs, zone }
  // a period that has ended since is still shown as it was charted
  const text = (name: (typeof FACT_NAMES)[number], facts: BedsideFacts): string =>
    name === 'nilByMouth' ? nilSpanText(facts, ctx.nowMs, zone) : factText(name, facts, at)
  const names = before === undefined ? FACT_NAMES : changedFacts(before.facts, version.facts)
  return {
    when: formatDateTime(version.atMs, zone),
    by: byOf(ctx, version.byId),
    reason: null,
    changes: names.map((name) => ({
      name: FACT[name],
      before: before === undefined ? null : text(name, before.facts),
      after: text(name, version.facts),
    })),
  }
}

function identityChange(
  ctx: StayRequest,
  version: IdentityVersion,
  before: IdentityVersion | undefined,
  zone: string,
): ChangeView {
  const parts = (one: IdentityVersion): readonly (readonly [string, string])[] => [
    ['Name', formatName(one)],
    ['Born', formatDate(one.bornOn)],
    ['Wristband', one.wristband],
  ]
  const old = before === undefined ? null : parts(before)
  return {
    when: formatDateTime(version.atMs, zone),
    by: byOf(ctx, version.byId),
    reason: version.reason,
    changes: parts(version).flatMap(([name, after], at) =>
      old !== null && old[at]?.[1] === after ? [] : [{ name, before: old?.[at]?.[1] ?? null, after }],
    ),
  }
}

/** Who charted it. Nobody here charted what came with the load file. */
function byOf(ctx: StayRequest, byId: string): string {
  return byId === 'loader' ? 'Load file' : nameOf(ctx, byId)
}
