/** Every page of the service at the width of a phone (every-page.ts). */
import { SIZES } from './browser.ts'
import { everyPageAt } from './every-page.ts'

everyPageAt(SIZES[1])
