/** The part of the library that the conversion test calls. The library ships no types. */
declare module '@lhncbc/ucum-lhc' {
  type Answer = { readonly status: 'succeeded' | 'failed' | 'error'; readonly toVal: number | null }
  export class UcumLhcUtils {
    static getInstance(): UcumLhcUtils
    convertUnitTo(from: string, value: number, to: string, options: { readonly molecularWeight: number }): Answer
  }
}
