import { describe, expect, test } from 'vitest';
import { verifyRecord } from '../../../src/core/log/chain.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import { duplicateRecord } from '../../../src/app/duplicate.ts';
import { emptySummary, extendSummary } from '../../../src/store/summary.ts';
import { filterRecords, stateOf, windowOf } from '../../../src/ui/records/record-filter.ts';
import { fullBirth, smallRecord } from '../../browser/desk-fixtures.ts';

const summaries = Array.from({ length: 12 }, (_, number) => {
  const file = smallRecord(number);
  return extendSummary(emptySummary(file), file.events);
});
const labelOf = (code: string) => (code === 'body-delivered' ? 'Baby delivered' : code);

describe('list of records', () => {
  test('search needs every word, in reference, date or entries', () => {
    const find = (search: string) =>
      filterRecords(summaries, { mode: 'all', state: 'all', search }, labelOf).length;
    expect(find('invented 11')).toBe(1);
    expect(find('BABY delivered')).toBe(12);
    expect(find('2026-10-14')).toBe(12);
    expect(find('baby forceps')).toBe(0);
  });
  test('kind and state', () => {
    const practice = filterRecords(summaries, { mode: 'practice', state: 'all', search: '' }, labelOf);
    expect(practice.map(({ recordId }) => recordId)).toEqual([
      'list-00000',
      'list-00003',
      'list-00006',
      'list-00009',
    ]);
    const unfinished = filterRecords(summaries, { mode: 'all', state: 'unfinished', search: '' }, labelOf);
    expect(unfinished).toHaveLength(6);
    expect(new Set(summaries.map(stateOf))).toEqual(new Set(['unfinished', 'finished']));
  });
  test('only the rows in view and a few more are made, at either end too', () => {
    expect(windowOf(5000, 88, 0, 600)).toEqual({ first: 0, last: 13 });
    const middle = windowOf(5000, 88, 88 * 2500, 600);
    expect(middle.last - middle.first).toBeLessThan(25);
    expect(middle.first).toBeLessThanOrEqual(2500);
    expect(windowOf(5000, 88, 88 * 5000 - 600, 600).last).toBe(5000);
    expect(windowOf(3, 88, 88 * 4000, 600)).toEqual({ first: 3, last: 3 });
  });
});

describe('duplicate for amendment', () => {
  const signed = fullBirth('original');
  const made = {
    by: { kind: 'reviewer' },
    madeAtMs: 320_000,
    madeAt: '2026-10-14T13:45:20.000+01:00',
  } as const;
  const file = {
    ...signed,
    events: [
      ...signed.events,
      ...sealEvents(
        signed.events.at(-1)!,
        [{ kind: 'sign', name: 'One', role: 'midwife', statement: 's' }],
        made,
      ),
    ],
  };
  const copy = duplicateRecord(file, 'copy', 'late result', Date.UTC(2026, 9, 15, 8, 0, 0));
  test('holds what was recorded, under its own id and an intact chain', () => {
    expect(copy.recordId).toBe('copy');
    expect(verifyRecord(copy)).toEqual({ kind: 'intact' });
    const told = (one: typeof file) =>
      foldRecord(one).entries.map(({ entry, atMs, by, status, madeAtMs }) => ({
        entry,
        atMs,
        by,
        status,
        madeAtMs,
      }));
    expect(told(copy)).toEqual(told(file));
  });
  test('is unsigned, and says why it was made', () => {
    const view = foldRecord(copy);
    expect(view.signatures).toEqual([]);
    expect(view.amendments.map(({ reason }) => reason)).toEqual(['late result']);
    expect(foldRecord(file).signatures).toHaveLength(1);
  });
});
