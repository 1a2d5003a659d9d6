/**
 * `npm run bench [-- <name>]`: measures one thing against its baseline on this machine and prints one JSON line. A
 * new measurement is a file beside this one and a line in the list.
 */
const BENCHES: Readonly<Record<string, () => Promise<{ readonly bench: () => Promise<object> }>>> = {
  round: () => import('./round.ts'),
  audit: () => import('./audit.ts'),
  board: () => import('./board.ts'),
  ward: () => import('./morning.ts'),
}

const name = process.argv[2] ?? 'round'
const load = BENCHES[name]
if (load === undefined) {
  console.error(`There is no bench "${name}". There are: ${Object.keys(BENCHES).join(', ')}.`)
  process.exitCode = 2
} else {
  const { bench } = await load()
  console.log(JSON.stringify({ bench: name, ...(await bench()) }))
}
