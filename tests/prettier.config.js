/** One layout for all code. Templates of HTML and SQL stay as they are written: their white space is part of the output. */
export default {
  printWidth: 120,
  semi: false,
  singleQuote: true,
  embeddedLanguageFormatting: 'off',
}
