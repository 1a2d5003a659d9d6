/** The fields of the tray form and of the form for insulin entered afterwards. */
import { z } from 'zod'
import { insulinField, unitsField, whenField } from '../bedside/fields.ts'

const name = (missing: string) => z.string(missing).trim().min(1, missing).max(80, 'At most 80 characters.')

export const TrayForm = z.strictObject({
  meal: z.enum(['breakfast', 'lunch', 'supper'], 'Choose the meal.'),
  what: z.enum(['served', '0', '25', '50', '75', '100'], 'Tap what is to be charted.'),
})
export type TrayFields = z.output<typeof TrayForm>

export const OutsideDoseForm = z.strictObject({
  source: z.enum(['paper', 'elsewhere'], 'Where does it come from?'),
  insulin: insulinField,
  units: unitsField,
  givenAt: whenField,
  givenBy: name('Who gave it?'),
  checkedBy: z.string().trim().max(80, 'At most 80 characters.').optional(),
})
export type OutsideDoseFields = z.output<typeof OutsideDoseForm>
