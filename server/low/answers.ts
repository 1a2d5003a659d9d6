/** GET and POST /lows/:lowId/answers: what is asked at the bedside before each treatment. */
import { z } from 'zod'
import { answerAtBedside } from '../../shared/low/chart.ts'
import type { Swallowing } from '../../shared/low/low.ts'
import { questionsPage } from '../../views/low/page.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { decideLow, drawLow, LOW_FIELDS, LOW_SENTENCES, LOW_STATUS, lowForm, type LowRefusal } from './form.ts'
import { asksTube } from './page.ts'

const SWALLOWING: readonly Swallowing[] = ['safely', 'not-safely', 'unresponsive']

const ANSWERS_FORM = z.strictObject({
  swallowing: z.enum(SWALLOWING, { error: 'Look, then choose: awake and swallowing now?' }),
  iv: z.enum(['working', 'none'], { error: 'Look, then choose: IV working now?' }),
  tube: z.enum(['usable', 'not-usable'], { error: 'Look, then choose: can the tube be used now?' }).optional(),
})

export const answersSpec: FormSpec<z.output<typeof ANSWERS_FORM>, LowRefusal, LowRequest> = {
  name: 'low-answers',
  schema: ANSWERS_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Look at the patient', (context) => {
      const { lowId, patient } = lowForm(ctx, context, state)
      return questionsPage({
        lowId,
        patient,
        problem: state.problem,
        form: {
          key: state.values['key'] ?? '',
          asksTube: asksTube(context),
          values: state.values,
          errors: state.errors,
        },
      })
    }),
  decide: (fields, ctx) =>
    decideLow(ctx, ({ lowFacts }) => {
      const tubeUsable =
        fields.tube === undefined || lowFacts.bedside.feeding !== 'tube' ? null : fields.tube === 'usable'
      return answerAtBedside(
        {
          byId: ctx.actor.staffId,
          answers: { swallowing: fields.swallowing, ivWorking: fields.iv === 'working', tubeUsable },
        },
        lowFacts,
      )
    }),
  sentences: LOW_SENTENCES,
  fieldOf: LOW_FIELDS,
  statusOf: LOW_STATUS,
}
