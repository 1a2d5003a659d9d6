/** Who asks the store. */
import type { Role } from '../../shared/ledger/events.ts'

/** Who is asking, and the wards whose patients that person may see. */
export type Scope = { readonly staffId: string; readonly role: Role; readonly wardIds: readonly string[] }
