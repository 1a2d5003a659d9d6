/** Bedside facts of a patient who eats, swallows and has no restriction. */
import type { BedsideFacts } from '../../shared/stay/stay.ts'

export function alderFacts(parts: Partial<BedsideFacts> = {}): BedsideFacts {
  return {
    diabetes: 'type-2',
    swallowsSafely: true,
    nilByMouth: null,
    feeding: 'oral',
    ivAccess: true,
    restrictedHands: [],
    isolation: 'none',
    renalImpairment: false,
    onSteroid: false,
    otherGlucoseLowering: [],
    weightKg: 80,
    ...parts,
  }
}
