import type { ApgarParts } from '../entry.ts';
import type { RecordView } from '../log/view.ts';
import { clockText, logged } from './logged.ts';
import type { Conflict } from './types.ts';

/** The five signs in the order of the published table. */
export const APGAR_SIGNS = ['colour', 'heartRate', 'reflex', 'tone', 'breathing'] as const;

/**
 * Words of each sign for 0, 1 and 2. Sources: apgar-1953, aap-acog-2015 (sources.json); at exactly
 * 100/min published tables differ, so the score comes from a person, never from a rate.
 */
export const APGAR_WORDS: Record<(typeof APGAR_SIGNS)[number], [string, string, string]> = {
  colour: ['blue or pale', 'body pink, limbs blue', 'pink all over'],
  heartRate: ['absent', 'below 100/min', 'above 100/min'],
  reflex: ['none', 'grimace', 'cough, sneeze, cry, pulls away'],
  tone: ['limp', 'some flexion', 'active motion'],
  breathing: ['absent', 'slow, irregular, weak cry', 'good, crying'],
};

const wholeWithin = (value: number, top: number) => Number.isInteger(value) && value >= 0 && value <= top;
export const isApgarTotal = (value: number): boolean => wholeWithin(value, 10);
export const isApgarPart = (value: number): boolean => wholeWithin(value, 2);

/** Sum of the parts, null unless all five were given. */
export function apgarSum(parts: ApgarParts): number | null {
  let sum = 0;
  for (const sign of APGAR_SIGNS) {
    const part = parts[sign];
    if (part === undefined) return null;
    sum += part;
  }
  return sum;
}

/** Totals that disagree with their parts, and time points told with two totals. Both are kept. */
export function apgarConflicts(view: RecordView): Conflict[] {
  const conflicts: Conflict[] = [];
  const totals = new Map<number, { score: number; entryId: string; atMs: number }>();
  for (const { entry, entryId, atMs } of logged(view, 'apgar')) {
    const { score, parts, minute } = entry;
    const sum = parts === undefined ? null : apgarSum(parts);
    if (score !== undefined && sum !== null && sum !== score) {
      conflicts.push({
        id: `apgar-parts-${entryId}`,
        kind: 'apgar',
        sentence: `Apgar at ${minute === undefined ? 'a minute not stated' : `${minute} min`}: the total given is ${score}, the parts make ${sum}.`,
        entryIds: [entryId],
      });
    }
    if (score === undefined || minute === undefined) continue;
    const before = totals.get(minute);
    if (before === undefined) totals.set(minute, { score, entryId, atMs });
    else if (before.score !== score) {
      conflicts.push({
        id: `apgar-twice-${entryId}`,
        kind: 'apgar',
        sentence: `Apgar at ${minute} min is recorded as ${before.score} (${clockText(view, before.atMs)}) and as ${score} (${clockText(view, atMs)}).`,
        entryIds: [before.entryId, entryId],
      });
    }
  }
  return conflicts;
}
