/** What keeps a store from opening: a stable reason and one plain sentence for whoever runs the ward's machine. */
export type StoreFault = 'newer-schema' | 'older-schema' | 'damaged-schema' | 'pragma-not-set' | 'ledger-behind-head' | 'not-a-database'

export class StoreError extends Error {
  readonly reason: StoreFault

  constructor(reason: StoreFault, sentence: string) {
    super(sentence)
    this.name = 'StoreError'
    this.reason = reason
  }
}
