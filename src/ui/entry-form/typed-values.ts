import type { Entry } from '../../core/entry.ts';

/** A closed range with its unit as printed in a refusal. */
export interface TypedRange {
  min: number;
  max: number;
}

export type Refused =
  | { kind: 'refused'; why: 'not-a-number' | 'not-whole'; typed: string }
  | { kind: 'refused'; why: 'out-of-range'; typed: string; range: TypedRange };

/** What became of a typed figure: nothing typed, a value that may be kept, or a refusal to be said in a sentence. */
export type Typed = { kind: 'empty' } | { kind: 'value'; value: number } | Refused;

/** Grams in an avoirdupois pound and ounce; exact by the international definition of 1959. */
const GRAMS_PER_POUND = 453.59237;
const GRAMS_PER_OUNCE = 28.349523125;

/**
 * Reads a figure typed with a decimal point or comma and an optional sign. Anything else, a second
 * separator or a thousands mark included, is refused: "1,200" may mean two things.
 */
export function typedNumber(typed: string): Typed {
  const clean = typed.trim().replace(/^[−–]/, '-');
  if (clean === '') return { kind: 'empty' };
  if (!/^[+-]?\d+([.,]\d+)?$/.test(clean) || /^[+-]?\d{1,3},\d{3}$/.test(clean)) {
    return { kind: 'refused', why: 'not-a-number', typed };
  }
  return { kind: 'value', value: Number(clean.replace(',', '.')) };
}

/** The same within a range, both ends included; `whole` refuses fractions. */
export function typedWithin(typed: string, range: TypedRange, options: { whole?: boolean } = {}): Typed {
  const found = typedNumber(typed);
  if (found.kind !== 'value') return found;
  return within(found.value, typed, range, options);
}

function within(value: number, typed: string, range: TypedRange, options: { whole?: boolean }): Typed {
  if (options.whole && !Number.isInteger(value)) return { kind: 'refused', why: 'not-whole', typed };
  if (value < range.min || value > range.max) return { kind: 'refused', why: 'out-of-range', typed, range };
  return { kind: 'value', value };
}

export type WeightUnit = 'g' | 'kg' | 'lb';

/**
 * Birth weight in whole grams from what was typed. Pounds take whole pounds and ounces below 16.
 * @param range grams.
 */
export function typedGrams(unit: WeightUnit, main: string, ounces: string, range: TypedRange): Typed {
  const typed = unit === 'lb' ? `${main} lb ${ounces || '0'} oz` : `${main} ${unit}`;
  const first = typedNumber(main);
  if (first.kind === 'refused') return first;
  if (unit !== 'lb') {
    if (first.kind === 'empty') return first;
    const grams = unit === 'kg' ? Math.round(first.value * 1000) : first.value;
    return within(grams, typed, range, { whole: true });
  }
  const second = typedWithin(ounces, { min: 0, max: 15.99 });
  if (second.kind === 'refused') return second;
  if (first.kind === 'empty' && second.kind === 'empty') return first;
  if (first.kind === 'empty') return { kind: 'refused', why: 'not-a-number', typed };
  if (!Number.isInteger(first.value)) return { kind: 'refused', why: 'not-whole', typed: main };
  const ounceValue = second.kind === 'value' ? second.value : 0;
  const grams = Math.round(first.value * GRAMS_PER_POUND + ounceValue * GRAMS_PER_OUNCE);
  return within(grams, typed, range, { whole: true });
}

/** Sum of the five Apgar parts, or null while any is missing: a total is never filled in from some of them. */
export function sumOfParts(parts: Entry['parts']): number | null {
  const { colour, heartRate, reflex, tone, breathing } = parts ?? {};
  const all = [colour, heartRate, reflex, tone, breathing];
  if (all.some((part) => part === undefined)) return null;
  return all.reduce<number>((sum, part) => sum + part!, 0);
}
