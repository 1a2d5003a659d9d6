/** The forms about people: schema, decision and page of each. Administrators only. Every value arrives as text. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import {
  addPerson,
  changeBadge,
  changePerson,
  leave,
  lockPerson,
  setTraining,
  unlockPerson,
  type StaffChange,
  type StaffFacts,
  type StaffRefusal,
} from '../../shared/staff/change.ts'
import { ROLES } from '../../shared/staff/person.ts'
import { isCalendarDate } from '../../shared/time/zone.ts'
import {
  badgePage,
  leavePage,
  lockPage,
  newPersonPage,
  rolePage,
  trainingPage,
  unlockPage,
  type PersonFormView,
} from '../../views/setup/people-forms.ts'
import { ROLE_DOES, ROLE_NAME, STAFF_SENTENCES } from '../../views/words/people.ts'
import type { Effect, FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { Staff } from '../store/contract.ts'
import { personOf, staffFacts, type PersonRequest } from './people-load.ts'

const NAME = z
  .string({ error: 'Type the name as it stands on the badge.' })
  .trim()
  .min(1, { error: 'Type the name as it stands on the badge.' })
  .max(80, { error: 'A name has at most 80 characters.' })
/** As printed in its barcode. */
const BADGE = z
  .string({ error: 'Scan or type the badge.' })
  .trim()
  .min(1, { error: 'Scan or type the badge.' })
  .max(40, { error: 'A badge has at most 40 characters.' })
const ROLE = z.enum(ROLES, { error: 'Choose a role.' })
/** An empty date means none. */
const UNTIL = z
  .string()
  .trim()
  .max(10, { error: 'Give a date of the calendar, or none.' })
  .default('')
  .refine((text) => text === '' || isCalendarDate(text), { error: 'Give a date of the calendar, or none.' })
  .transform((text) => (text === '' ? null : text))

/** A ticked ward arrives as "ward.<wardId>" = "yes". */
function wardField(wardId: string): string {
  return `ward.${wardId}`
}

const WARD_FIELD = /^ward\.([a-z0-9]{1,40})$/

function checkTicks(form: Readonly<Record<string, unknown>>, context: z.RefinementCtx, named: readonly string[]): void {
  for (const [name, value] of Object.entries(form)) {
    if (named.includes(name)) continue
    if (!WARD_FIELD.test(name) || value !== 'yes')
      context.addIssue({ code: 'custom', path: [name], message: 'Tick the ward or leave it.' })
  }
}

function tickedWards(form: Readonly<Record<string, unknown>>): readonly string[] {
  return Object.keys(form).flatMap((name) => WARD_FIELD.exec(name)?.[1] ?? [])
}

const TICKS = z.string().max(10, { error: 'Tick the ward or leave it.' })

const ROLE_FORM = z
  .object({ name: NAME, role: ROLE })
  .catchall(TICKS)
  .superRefine((form, context) => {
    checkTicks(form, context, ['name', 'role'])
  })
  .transform((form) => ({ name: form.name, role: form.role, wardIds: tickedWards(form) }))

const NEW_PERSON_FORM = z
  .object({ name: NAME, role: ROLE, trainingUntil: UNTIL, badge: BADGE })
  .catchall(TICKS)
  .superRefine((form, context) => {
    checkTicks(form, context, ['name', 'role', 'trainingUntil', 'badge'])
  })
  .transform((form) => ({
    name: form.name,
    role: form.role,
    badge: form.badge,
    trainingUntil: form.trainingUntil,
    wardIds: tickedWards(form),
  }))

const BADGE_FORM = z.strictObject({ badge: BADGE })
const LOCK_FORM = z.strictObject({
  reason: z
    .string({ error: 'Type the reason.' })
    .trim()
    .min(1, { error: 'Type the reason.' })
    .max(200, { error: 'At most 200 characters.' }),
})
const TRAINING_FORM = z.strictObject({ until: UNTIL })
const LEAVE_FORM = z.strictObject({
  gone: z.literal('yes', { error: 'Tick that the person no longer works here.' }),
})
/** A form with only a button. */
export const BUTTON_FORM = z.strictObject({})

type StaffSpec<F> = FormSpec<F, StaffRefusal, PersonRequest>

/** What all of these forms share. */
const COMMON = {
  initial: () => ({}),
  sentences: STAFF_SENTENCES,
  fieldOf: { 'badge-taken': 'badge', 'same-badge': 'badge', 'training-too-far': 'until' },
  statusOf: {
    'no-such-person': 404,
    'own-role': 403,
    'own-training': 403,
    'own-code': 403,
    'last-administrator': 409,
    'has-left': 409,
    'already-locked': 409,
    'not-locked': 409,
    'locked-first': 409,
  },
} as const satisfies Partial<StaffSpec<never>>

/** Ends the person's sessions if the change requires it, and any code for setting another PIN. */
function decided(staffId: string, { events, endsLogins }: StaffChange): FormDecision {
  const isShut = events.some(({ type }) => type === 'staff-locked' || type === 'staff-left')
  const effects: readonly Effect[] = endsLogins
    ? [{ kind: 'end-logins', staffId }, ...(isShut ? [{ kind: 'drop-pin-code', staffId } as const] : [])]
    : []
  return { events, location: `/setup/people/${staffId}`, effects }
}

/** Loads the person inside the transaction and decides. */
function decideAbout(
  ctx: PersonRequest,
  decide: (person: Staff, facts: StaffFacts) => Outcome<StaffChange, StaffRefusal>,
): Outcome<FormDecision, StaffRefusal> {
  const person = personOf(ctx)
  if (person === undefined) return refuse('no-such-person')
  const change = decide(person, staffFacts(ctx, person.wardIds))
  return change.ok ? accept(decided(person.staffId, change.value)) : change
}

/** Renders a form about the person. Undefined: there is none. */
export function drawAbout(
  ctx: PersonRequest,
  state: FormState,
  title: string,
  body: (view: PersonFormView) => PageView['body'],
): PageView | undefined {
  const person = personOf(ctx)
  return person === undefined
    ? undefined
    : { title, body: body({ staffId: person.staffId, name: person.name, ...state }) }
}

const roleOptions = ROLES.map((role) => ({ value: role, label: `${ROLE_NAME[role]}: ${ROLE_DOES[role]}` }))

function wardOptions(ctx: RequestContext): readonly { readonly field: string; readonly name: string }[] {
  return ctx.store.setUpWards(ctx.scope).map(({ wardId, name }) => ({ field: wardField(wardId), name }))
}

/** The ticked wards in the order of the wards. A ward that does not exist is kept, so that it is refused. */
function inOrder(ctx: RequestContext, ticked: readonly string[]): readonly string[] {
  const known = ctx.store.setUpWards(ctx.scope).map(({ wardId }) => wardId)
  return [...known.filter((wardId) => ticked.includes(wardId)), ...ticked.filter((wardId) => !known.includes(wardId))]
}

export const newPersonSpec: FormSpec<z.output<typeof NEW_PERSON_FORM>, StaffRefusal> = {
  ...COMMON,
  name: 'person-new',
  schema: NEW_PERSON_FORM,
  draw: (ctx, state) => ({
    title: 'Add a person',
    body: newPersonPage({ ...state, roles: roleOptions, wards: wardOptions(ctx) }),
  }),
  decide: (fields, ctx) => {
    const staffId = ctx.services.newId()
    const wardIds = inOrder(ctx, fields.wardIds)
    const change = addPerson(
      { ...fields, staffId, wardIds },
      ctx.store.staffByBadge(fields.badge),
      staffFacts(ctx, wardIds),
    )
    return change.ok ? accept(decided(staffId, change.value)) : change
  },
  fieldOf: {
    'badge-taken': 'badge',
    'ward-needed': 'wards',
    'no-such-ward': 'wards',
    'training-too-far': 'trainingUntil',
  },
}

export const roleSpec: StaffSpec<z.output<typeof ROLE_FORM>> = {
  ...COMMON,
  name: 'person-role',
  schema: ROLE_FORM,
  initial: (ctx) => {
    const person = personOf(ctx)
    if (person === undefined) return {}
    return {
      name: person.name,
      role: person.role,
      ...Object.fromEntries(person.wardIds.map((wardId) => [wardField(wardId), 'yes'])),
    }
  },
  draw: (ctx, state) =>
    drawAbout(ctx, state, 'Name, role and wards', (view) =>
      rolePage({ ...view, roles: roleOptions, wards: wardOptions(ctx), own: view.staffId === ctx.actor.staffId }),
    ),
  decide: (fields, ctx) =>
    decideAbout(ctx, (person, facts) =>
      changePerson({ ...fields, wardIds: inOrder(ctx, fields.wardIds) }, person, facts),
    ),
  fieldOf: { 'ward-needed': 'wards', 'no-such-ward': 'wards' },
}

export const badgeSpec: StaffSpec<z.output<typeof BADGE_FORM>> = {
  ...COMMON,
  name: 'person-badge',
  schema: BADGE_FORM,
  draw: (ctx, state) =>
    drawAbout(ctx, state, 'Another badge', (view) => badgePage({ ...view, badge: personOf(ctx)?.badge ?? '' })),
  decide: ({ badge }, ctx) =>
    decideAbout(ctx, (person, facts) => changeBadge(badge, ctx.store.staffByBadge(badge), person, facts)),
}

export const lockSpec: StaffSpec<z.output<typeof LOCK_FORM>> = {
  ...COMMON,
  name: 'person-lock',
  schema: LOCK_FORM,
  draw: (ctx, state) => drawAbout(ctx, state, 'Lock', lockPage),
  decide: ({ reason }, ctx) => decideAbout(ctx, (person, facts) => lockPerson(reason, person, facts)),
}

export const unlockSpec: StaffSpec<z.output<typeof BUTTON_FORM>> = {
  ...COMMON,
  name: 'person-unlock',
  schema: BUTTON_FORM,
  draw: (ctx, state) =>
    drawAbout(ctx, state, 'Unlock', (view) => unlockPage({ ...view, reason: personOf(ctx)?.locked?.reason ?? null })),
  decide: (_fields, ctx) => decideAbout(ctx, unlockPerson),
}

export const leaveSpec: StaffSpec<z.output<typeof LEAVE_FORM>> = {
  ...COMMON,
  name: 'person-leave',
  schema: LEAVE_FORM,
  draw: (ctx, state) => drawAbout(ctx, state, 'No longer works here', leavePage),
  decide: (_fields, ctx) => decideAbout(ctx, leave),
}

export const trainingSpec: StaffSpec<z.output<typeof TRAINING_FORM>> = {
  ...COMMON,
  name: 'person-training',
  schema: TRAINING_FORM,
  initial: (ctx) => ({ until: personOf(ctx)?.trainingUntil ?? '' }),
  draw: (ctx, state) => drawAbout(ctx, state, 'Meter training', trainingPage),
  decide: ({ until }, ctx) => decideAbout(ctx, (person, facts) => setTraining(until, person, facts)),
}
