/** A tour of one area's pages. every-page.ts runs each tour at both sizes and checks each page with axe. */
import type { Device } from '../browser.ts'
import type { OpenWorld } from '../start.ts'
import type { Person } from '../../support/people.ts'

export type TourGuide = {
  readonly open: OpenWorld
  readonly device: Device
  /** Opens the path and checks the page that answers 200. `pattern` is its route, `picture` the screenshot's name. */
  readonly ctx: (pattern: string, path: string, picture: string) => Promise<void>
  /** Checks the current page. */
  readonly look: (pattern: string, picture: string) => Promise<void>
}

export type Tour = {
  readonly name: string
  readonly person: Person
  readonly take: (guide: TourGuide) => Promise<void>
}
