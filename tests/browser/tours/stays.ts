/** The pages about stays: beds, admission, facts, plan, feed, move, history, late trays, discharge and return. */
import { ADMISSION } from '../../support/admission.ts'
import { storeEvents } from '../../../server/store/store-events.ts'
import { DAY_MS } from '../../../shared/time/span.ts'
import { people } from '../../support/people.ts'
import { stays } from '../../support/wards.ts'
import type { Tour, TourGuide } from './tour.ts'

const stay = `/stays/${stays.leo.stayId}`

async function press({ device }: TourGuide, name: string): Promise<void> {
  await device.page.locator('main').getByRole('button', { name }).click()
}

const beds: Tour = {
  name: 'stays: beds and admission',
  person: people.cora,
  take: async (guide) => {
    const {
      ctx,
      look,
      device: { page },
    } = guide
    await ctx('/setup/beds', '/setup/beds', 'stays-beds')
    await ctx('/setup/beds/:bed/admit', '/setup/beds/8/admit', 'stays-admit')
    await page.locator('main input[name="wristband"]').fill(stays.tomas.wristband)
    await page.locator('main input[name="familyName"]').fill(ADMISSION['familyName'] ?? '')
    await press(guide, 'Admit the patient')
    await page.locator('[aria-invalid="true"]').first().waitFor()
    await look('/setup/beds/:bed/admit', 'stays-admit-refused')
  },
}

/** A value of two days ago at which the order said "no dose, call", and nobody has called. */
function oweCall({ open: { world } }: TourGuide): string {
  const atMs = world.clock.now() - 2 * DAY_MS
  const entryId = 'tourcall00000000'
  const facts = world.store.stayFacts(SCOPE, stays.leo.stayId, world.clock.now())
  if (facts?.entries.some((entry) => entry.entryId === entryId) !== true)
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          type: 'entry-charted',
          wardId: stays.leo.wardId,
          stayId: stays.leo.stayId,
          actorId: people.nora.staffId,
          happenedAtMs: atMs,
          chartedAtMs: atMs,
          body: {
            entryId,
            kind: 'no-dose-call',
            fact: { readingId: 'none000000000000', orderId: stays.leo.orderId, repeatInMin: null },
          },
        },
      ])
      return null
    })
  return `${stay}/tasks/no-dose-call.${entryId}`
}

const SCOPE = { staffId: 'tour', role: 'educator', wardIds: [stays.leo.wardId] } as const

const tasks: Tour = {
  name: 'stays: a task',
  person: people.nora,
  take: async (guide) => {
    const { ctx, look } = guide
    await ctx('/stays/:stayId/tasks/:taskKey', oweCall(guide), 'stays-task')
    await press(guide, 'Chart the call')
    await guide.device.page.locator('[aria-invalid="true"]').first().waitFor()
    await look('/stays/:stayId/tasks/:taskKey', 'stays-task-refused')
  },
}

const changes: Tour = {
  name: 'stays: what is charted about one',
  person: people.cora,
  take: async (guide) => {
    const {
      ctx,
      look,
      device: { page },
    } = guide
    await ctx('/stays/:stayId/facts', `${stay}/facts`, 'stays-facts')
    await page.locator('main label:has(input[name="nil"][value="yes"])').click()
    await press(guide, 'Chart the facts')
    await page.waitForURL(`**${stay}`)
    await look('/stays/:stayId', 'stays-nil-by-mouth')
    await ctx('/stays/:stayId/plan', `${stay}/plan`, 'stays-plan')
    await page.locator('main select[name="kind"]').selectOption('overnight')
    await press(guide, 'Set the plan')
    await page.locator('main').getByRole('link', { name: 'End it' }).first().waitFor()
    await page.locator('summary').click()
    await look('/stays/:stayId/plan', 'stays-plan-overnight')
    await page.locator('main').getByRole('link', { name: 'End it' }).first().click()
    await page.waitForURL('**/end')
    await look('/stays/:stayId/plan/:version/end', 'stays-plan-end')
    await ctx('/stays/:stayId/insulin-word', `${stay}/insulin-word`, 'stays-insulin-word')
    await ctx('/stays/:stayId/other-insulin', `${stay}/other-insulin`, 'stays-other-insulin')
    await ctx('/stays/:stayId/ketones', `${stay}/ketones`, 'stays-ketones')
    await ctx('/stays/:stayId/came-back', `${stay}/came-back`, 'stays-came-back')
    await ctx('/stays/:stayId/feed', `${stay}/feed`, 'stays-feed-by-mouth')
    await page.goto(`${stay}/facts`)
    await page.locator('main select[name="feeding"]').selectOption('tube')
    await press(guide, 'Chart the facts')
    await page.waitForURL(`**${stay}`)
    await page.goto(`${stay}/feed`)
    await page.locator('main input[name="reason"]').fill('Tube blocked')
    await press(guide, 'The feed was stopped')
    await page.waitForURL(`**${stay}`)
    await ctx('/stays/:stayId/feed', `${stay}/feed`, 'stays-feed-stopped')
    await ctx('/stays/:stayId/move', `${stay}/move`, 'stays-move')
    await ctx('/stays/:stayId/identity', `${stay}/identity`, 'stays-identity')
    await ctx('/stays/:stayId/history', `${stay}/history`, 'stays-history')
  },
}

const trays: Tour = {
  name: 'stays: late trays',
  person: people.cora,
  take: async ({ ctx, look, device: { page } }) => {
    await ctx('/round/trays-late', '/round/trays-late', 'stays-trays-late')
    await page.locator('main label:has(input[name="meal"])').first().click()
    await page.locator('main input[name="minutes"]').fill('45')
    await page.locator('#windows-moved table').waitFor()
    await look('/round/trays-late', 'stays-trays-late-moves')
  },
}

const leaving: Tour = {
  name: 'stays: discharge and return',
  person: people.carl,
  take: async (guide) => {
    const {
      ctx,
      device: { page },
    } = guide
    const own = `/stays/${stays.ivor.stayId}`
    await ctx('/stays/:stayId/discharge', `${own}/discharge`, 'stays-discharge')
    await press(guide, 'Discharge the patient')
    await page.waitForURL('**/setup/beds')
    await ctx('/stays/:stayId/handed-over', `${own}/handed-over`, 'stays-handed-over-nothing')
    await ctx('/setup/discharged', '/setup/discharged', 'stays-discharged')
    await ctx('/setup/discharged/:stayId/readmit', `/setup/discharged/${stays.ivor.stayId}/readmit`, 'stays-readmit')
    await ctx('/stays/:stayId', own, 'stays-discharged-patient')
  },
}

export const stayTours: readonly Tour[] = [beds, tasks, changes, trays, leaving]
