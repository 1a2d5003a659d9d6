/** GET /stays/:stayId/history: how a stay came to be as it is: who changed what, and when. */
import { changedFacts, FACT_NAMES } from '../../shared/stay/facts.ts'
import type { BedsideFacts, FactsVersion } from '../../shared/stay/stay.ts'
import type { IdentityVersion } from '../../shared/stay/identity.ts'
import { formatDate, formatDateTime, formatName } from '../../views/format.ts'
import { historyPage, type ChangeView } from '../../views/stay/history.ts'
import { FACT, factText, nilSpanText } from '../../views/words/stay.ts'
import { recordPatientRead } from '../http/access.ts'
import { messageAnswer, page, type Answer } from '../http/page.ts'
import type { Visit } from '../http/visit.ts'
import { nameOf } from '../reading/load.ts'
import { bannerOf } from './banner.ts'
import { spanText } from './feed.ts'
import { stayOf } from './load.ts'
import { lineText } from './plan.ts'

export function history(visit: Visit): Answer {
  const facts = stayOf(visit)
  const found = facts === undefined ? undefined : visit.store.stayHistory(visit.scope, facts.stay.stayId)
  if (facts === undefined || found === undefined) return messageAnswer(visit, 404, 'not-found')
  const {
    stay,
    policy: {
      policy: { zone },
    },
  } = facts
  recordPatientRead(visit, stay.stayId)
  const { nowMs } = visit
  // where the patient lay is the patient's own history: a ward's name tells of nobody else
  const wardName = new Map(visit.store.wardBeds(nowMs).map(({ wardId, name }) => [wardId, name]))
  const seesPrevious =
    found.previousStayId !== null && visit.store.stayFacts(visit.scope, found.previousStayId, nowMs) !== undefined
  return page(visit, 200, {
    title: 'History of the stay',
    body: historyPage({
      stayId: stay.stayId,
      patient: bannerOf(facts, nowMs, true),
      admitted: formatDateTime(stay.admittedAtMs, zone),
      discharged: stay.dischargedAtMs === null ? null : formatDateTime(stay.dischargedAtMs, zone),
      previous: found.previousStayId === null ? null : { stayId: seesPrevious ? found.previousStayId : null },
      facts: found.facts.map((version, at) => factsChange(visit, version, found.facts[at - 1], zone)).reverse(),
      identities: visit.store
        .identityHistory(visit.scope, stay.stayId)
        .map((version, at, all) => identityChange(visit, version, all[at - 1], zone))
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
        by: nameOf(visit, one.byId),
      })),
    }),
  })
}

function factsChange(visit: Visit, version: FactsVersion, before: FactsVersion | undefined, zone: string): ChangeView {
  const at = { nowMs: visit.nowMs, zone }
  // a span that is over by now is still what was charted then
  const text = (name: (typeof FACT_NAMES)[number], facts: BedsideFacts): string =>
    name === 'nilByMouth' ? nilSpanText(facts, visit.nowMs, zone) : factText(name, facts, at)
  const names = before === undefined ? FACT_NAMES : changedFacts(before.facts, version.facts)
  return {
    when: formatDateTime(version.atMs, zone),
    by: byOf(visit, version.byId),
    reason: null,
    changes: names.map((name) => ({
      name: FACT[name],
      before: before === undefined ? null : text(name, before.facts),
      after: text(name, version.facts),
    })),
  }
}

function identityChange(
  visit: Visit,
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
    by: byOf(visit, version.byId),
    reason: version.reason,
    changes: parts(version).flatMap(([name, after], at) =>
      old !== null && old[at]?.[1] === after ? [] : [{ name, before: old?.[at]?.[1] ?? null, after }],
    ),
  }
}

/** Who charted it; what came with the load file was charted by nobody here. */
function byOf(visit: Visit, byId: string): string {
  return byId === 'loader' ? 'Load file' : nameOf(visit, byId)
}
