/** `npm run routes`: prints every route with its methods and roles. */
import { registeredRoutes } from './registered.ts'
import { formatRoutes } from './table.ts'

console.log(formatRoutes(await registeredRoutes()))
