/**
 * A ward on a real file with a fixed clock, for the test that kills it: `node low-service.js FILE TIME`, TIME being
 * ward-local ("2026-03-10T03:00"). Fills an empty file with the test wards. Prints its port on one line.
 */
import type { AddressInfo } from 'node:net'
import { makeWorld } from '../support/world.ts'

const [file, at] = process.argv.slice(2)
if (file === undefined || at === undefined) throw new Error('node low-service.js FILE TIME')

const world = await makeWorld({ file, at })
await world.server.app.listen({ host: '127.0.0.1', port: 0 })
process.stdout.write(`${String((world.server.app.server.address() as AddressInfo).port)}\n`)
