/** A tour of one area's pages: every-page.ts takes each at both sizes, looks, and asks axe. */
import type { Device } from '../browser.ts'
import type { OpenWorld } from '../start.ts'
import type { Person } from '../../support/people.ts'

export type TourGuide = {
  readonly open: OpenWorld
  readonly device: Device
  /** Goes to the path, and looks at the page that answers 200. `pattern` is its route, `picture` the screenshot's name. */
  readonly ctx: (pattern: string, path: string, picture: string) => Promise<void>
  /** Looks at the page as it stands. */
  readonly look: (pattern: string, picture: string) => Promise<void>
}

export type Tour = {
  readonly name: string
  readonly person: Person
  readonly take: (guide: TourGuide) => Promise<void>
}
