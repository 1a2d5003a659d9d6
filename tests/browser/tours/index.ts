/** Every tour in order: each starts from the ward as the ones before left it. */
import { accessTours } from './access.ts'
import { auditTours } from './audit.ts'
import { boardTours } from './board.ts'
import { handoverTours } from './handover.ts'
import { meterTours } from './meters.ts'
import { orderReadingTours } from './order-reading.ts'
import { orderTours } from './orders.ts'
import { peopleTours } from './people.ts'
import { policyTours } from './policy.ts'
import { ratesTours } from './rates.ts'
import { serviceTours } from './service.ts'
import { stayTours } from './stays.ts'
import type { Tour } from './tour.ts'

export const TOURS: readonly Tour[] = [
  ...boardTours,
  ...stayTours,
  ...orderTours,
  ...orderReadingTours,
  ...policyTours,
  ...peopleTours,
  ...meterTours,
  ...handoverTours,
  ...ratesTours,
  ...auditTours,
  ...serviceTours,
  ...accessTours,
]
