import type { Entry } from '../../entry.ts';
import { rangeOf, slotInfo, type NumberSlotName } from '../../slots.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import type { Problem } from '../interpretation.ts';
import type { Token } from '../words/normalise.ts';
import { quantity, wholeNumbers, wordsOf, type NumberRun } from './numbers.ts';

/** A number at a place that a phrase leaves for a slot: "heart rate {rate}". */
export interface SlotNumber {
  slot: string;
  run: NumberRun;
}

/**
 * The entry with the numbers of its phrase in their slots. What is out of range, or no single number, never reaches
 * its slot: the words are kept and asked about.
 */
export function withNumbers(
  entry: Entry,
  numbers: readonly SlotNumber[],
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): { entries: Entry[]; problem?: Problem } {
  const filled: Entry = { ...entry };
  const refused: string[] = [];
  let problem: Problem | undefined;
  for (const { slot, run } of numbers) {
    const name = slot as NumberSlotName;
    const { joined, tenths, whole, or } = slotInfo(slot).number!;
    const value = valueOf(run, joined === true, tenths === true);
    const fits = (one: NumberSlotName): boolean => {
      const [min, max] = codeInfo(vocabulary, entry.code).ranges?.[one] ?? rangeOf(one);
      return value !== undefined && value >= min! && value <= max!;
    };
    const other = or as NumberSlotName | undefined;
    const wrong = value === undefined || (whole === true && !Number.isInteger(value));
    const both = other !== undefined && fits(name) && fits(other);
    if (!wrong && fits(name) && !both) filled[name] = value;
    else if (!wrong && other !== undefined && fits(other) && !both) filled[other] = value;
    else {
      problem = wrong ? (problem ?? 'unclear') : both ? 'unit-missing' : 'out-of-range';
      refused.push(wordsOf(tokens, run.from, UNITS.has(tokens[run.to]?.word ?? '') ? run.to + 1 : run.to));
    }
  }
  return {
    entries: [refused.length > 0 ? { ...filled, spoken: refused.join(', ') } : filled],
    ...(problem ? { problem } : {}),
  };
}

/** Kept with a number that is asked about. */
const UNITS = new Set(['percent', 'litre', 'ml', 'units', 'grams', 'cm', 'degrees']);

/** "one twenty" is 120 only of what is said so (`joined`). */
function valueOf(run: NumberRun, joined: boolean, tenths: boolean): number | undefined {
  const one = quantity(run);
  if (one !== undefined || !(joined || tenths)) return one;
  const [hundreds, rest, ...more] = wholeNumbers(run) ?? [];
  // "thirty six four" of a temperature is 36.4.
  if (tenths)
    return more.length === 0 && hundreds !== undefined && hundreds > 9 && rest !== undefined && rest < 10
      ? hundreds + rest / 10
      : undefined;
  const fits = hundreds !== undefined && rest !== undefined && more.length === 0;
  if (fits && hundreds >= 1 && hundreds <= 19 && rest >= 10 && rest <= 99) return hundreds * 100 + rest;
  return fits && hundreds >= 1 && hundreds <= 9 && rest >= 0 && rest <= 9 ? hundreds * 10 + rest : undefined;
}
