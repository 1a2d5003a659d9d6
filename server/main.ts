/** A real ward: reads the configuration, starts, and stops cleanly. Nothing else. */
import { SYSTEM_CLOCKS } from './clocks.ts'
import { readConfig } from './config.ts'
import { startService } from './start.ts'

const config = readConfig(process.env)
if (!config.ok) {
  process.stderr.write(`The service cannot start:\n${config.details.sentences}\n`)
  process.exit(1)
}
try {
  const running = await startService(config.value, { clocks: SYSTEM_CLOCKS, demoClock: null })
  process.stdout.write(`Ward Glucose Round is at ${running.address}\n`)
  if (typeof running.services.setUpCode === 'string') {
    process.stdout.write(
      `Nobody has been added yet. Open ${running.address}/first-administrator with this code, which holds until the service stops: ${running.services.setUpCode}\n`,
    )
  }
  for (const signal of ['SIGTERM', 'SIGINT'] as const) {
    process.once(signal, () => {
      running.stop().then(
        () => process.exit(0),
        (error: unknown) => {
          process.stderr.write(
            `The service did not stop cleanly: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
          )
          process.exit(1)
        },
      )
    })
  }
} catch (error) {
  process.stderr.write(`The service cannot start: ${error instanceof Error ? error.message : String(error)}\n`)
  process.exit(1)
}
