/** Placeholder shape until the http area fills it in: the only reader of the environment. */
export type Config = { readonly databaseFile: string; readonly host: string; readonly port: number; readonly headFile: string; readonly secureCookies: boolean; readonly trustProxy: boolean; readonly logLevel: 'silent' | 'error' | 'warn' | 'info'; readonly sessionHours: number }
