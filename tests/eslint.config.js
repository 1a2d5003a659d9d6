/**
 * The rules of the house that a linter can hold. Quiet on style; loud on lost promises, on unchecked values and on
 * imports that cross a border. `npm run lint` runs it from the package root.
 */
import eslint from '@eslint/js'
import tseslint from 'typescript-eslint'
import { fileURLToPath } from 'node:url'

const root = fileURLToPath(new URL('..', import.meta.url))

const luxonOnlyInTime = { regex: '^luxon', message: 'Only shared/time may import luxon: ask it for what you need.' }
const sqlOnlyInStore = {
  regex: '^(better-sqlite3|drizzle-orm)',
  message: 'SQL stands only in server/store: add a read to its contract.',
}
const sharedIsPure = { regex: '^(?!\\.{1,2}/)', message: 'shared/ imports only shared/: no package, no Node module.' }
const sharedIsPureButTime = { regex: '^(?!\\.{1,2}/|luxon$)', message: 'shared/time imports only shared/ and luxon.' }
const noServerOrViews = {
  regex: '(^|/)(server|views|seed-demo|tests)/',
  message: 'shared/ knows nothing of the server, the views or the tests.',
}
const viewsNeverQuery = {
  regex: '(^|/)server/',
  message: 'Views get a typed view object: they import from shared/ and views/ only.',
}

const imports = (...patterns) => ({ 'no-restricted-imports': ['error', { patterns }] })

const clocks = [
  { selector: "NewExpression[callee.name='Date'][arguments.length=0]", message: 'The time comes in as an argument.' },
  { selector: "CallExpression[callee.name='Date']", message: 'The time comes in as an argument.' },
  {
    selector: "MemberExpression[object.name='Date'][property.name='now']",
    message: 'The time comes in as an argument.',
  },
  {
    selector: "MemberExpression[object.name='performance'][property.name='now']",
    message: 'The time comes in as an argument.',
  },
  {
    selector: "CallExpression[callee.object.name='DateTime'][callee.property.name='now']",
    message: 'The time comes in as an argument.',
  },
  {
    selector: "CallExpression[callee.object.name='DateTime'][callee.property.name=/^(local|utc)$/][arguments.length=0]",
    message: 'The time comes in as an argument.',
  },
  {
    selector: "MemberExpression[object.name='Math'][property.name='random']",
    message: 'Chance comes in as an argument.',
  },
]
const anyDate = {
  selector: "NewExpression[callee.name='Date']",
  message: 'shared/ counts milliseconds; calendar work is shared/time.',
}
const noEnvironment = {
  selector: "MemberExpression[object.name='process'][property.name='env']",
  message: 'Only server/config.ts reads the environment.',
}
const everywhere = [
  { selector: 'TSEnumDeclaration', message: 'A union of strings, not an enum.' },
  {
    selector: "TSAsExpression > TSAsExpression[typeAnnotation.type='TSUnknownKeyword']",
    message: 'Parse the value instead of casting it through unknown.',
  },
]
const syntax = (...selectors) => ({ 'no-restricted-syntax': ['error', ...everywhere, ...selectors] })

export default tseslint.config(
  { ignores: ['dist/', 'node_modules/', 'data/', 'screenshots/', 'coverage/', '.vitest/', 'views/assets/vendor/'] },
  eslint.configs.recommended,
  {
    files: ['**/*.ts'],
    extends: [tseslint.configs.recommendedTypeChecked],
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: root } },
    linterOptions: { reportUnusedDisableDirectives: 'error' },
    rules: {
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/no-misused-promises': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': ['error', { considerDefaultExhaustiveForUnions: true }],
      '@typescript-eslint/no-non-null-assertion': 'error',
      '@typescript-eslint/restrict-template-expressions': ['error', { allowNumber: true }],
      '@typescript-eslint/consistent-type-imports': 'error',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      // handlers and form hooks are declared async because their contract is, whether or not they wait
      '@typescript-eslint/require-await': 'off',
      eqeqeq: ['error', 'always', { null: 'ignore' }],
      'no-var': 'error',
      'no-new-func': 'error',
      'no-implied-eval': 'off',
      ...imports(luxonOnlyInTime, sqlOnlyInStore),
      ...syntax(noEnvironment),
    },
  },
  { files: ['server/**/*.ts'], rules: syntax(noEnvironment, ...clocks) },
  // where the two clocks, chance and the environment come in
  {
    files: ['server/main.ts', 'server/config.ts', 'server/*/run.ts', 'server/clocks.ts', 'seed-demo/**/*.ts'],
    rules: syntax(),
  },
  { files: ['server/store/**/*.ts'], rules: imports(luxonOnlyInTime) },
  {
    files: ['views/**/*.ts'],
    rules: {
      ...imports(luxonOnlyInTime, sqlOnlyInStore, viewsNeverQuery),
      ...syntax(noEnvironment, anyDate, ...clocks),
    },
  },
  {
    files: ['shared/**/*.ts'],
    rules: {
      ...imports(sharedIsPure, noServerOrViews),
      ...syntax(noEnvironment, anyDate, ...clocks),
      'no-restricted-globals': [
        'error',
        'process',
        'Buffer',
        'setTimeout',
        'setInterval',
        'fetch',
        'crypto',
        'performance',
        'console',
        'globalThis',
      ],
    },
  },
  { files: ['shared/time/**/*.ts'], rules: imports(sharedIsPureButTime, noServerOrViews) },
  {
    files: ['tests/**/*.ts'],
    rules: {
      ...imports(),
      ...syntax(),
      // answers of the service are read as they come; the assertions are the check of their shape
      '@typescript-eslint/no-unsafe-assignment': 'off',
      '@typescript-eslint/no-unsafe-member-access': 'off',
      '@typescript-eslint/no-unsafe-argument': 'off',
      '@typescript-eslint/no-unsafe-call': 'off',
      '@typescript-eslint/no-unsafe-return': 'off',
      '@typescript-eslint/no-non-null-assertion': 'off',
    },
  },
  {
    files: ['**/*.js'],
    languageOptions: {
      globals: {
        console: 'readonly',
        process: 'readonly',
        URL: 'readonly',
        setTimeout: 'readonly',
        clearTimeout: 'readonly',
      },
    },
  },
  {
    files: ['views/assets/*.js'],
    languageOptions: {
      sourceType: 'script',
      globals: Object.fromEntries(
        [
          'window',
          'document',
          'htmx',
          'navigator',
          'location',
          'setTimeout',
          'clearTimeout',
          'setInterval',
          'clearInterval',
          'sessionStorage',
          'FormData',
          'URLSearchParams',
          'HTMLElement',
          'HTMLInputElement',
          'HTMLFormElement',
          'Event',
          'CustomEvent',
          'MutationObserver',
          'requestAnimationFrame',
        ].map((name) => [name, 'readonly']),
      ),
    },
  },
)
