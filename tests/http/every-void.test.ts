/** A day in which every reason voids a dose, charted over HTTP. The same day of an older program is opened by upgrade.test.ts. */
import { afterEach, expect, it } from 'vitest'
import { dose } from '../support/bedside.ts'
import { chartEveryVoid, EVERY_VOID_WORLD, FATES, fateOf } from '../support/every-void.ts'
import { people } from '../support/people.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
afterEach(() => world.close())

it('each dose is void for its reason from its instant, or stands', async () => {
  world = await makeWorld(EVERY_VOID_WORLD)
  const ids = await chartEveryVoid(world)
  const fates = Object.fromEntries(Object.entries(ids).map(([name, id]) => [name, fateOf(dose(world.store, id))]))
  expect(fates).toEqual(FATES)
  const nora = await world.signIn(people.nora)
  expect((await nora.get(`/doses/${ids.ahead}`)).words()).toContain('The ward policy changed. Do not give it.')
})
