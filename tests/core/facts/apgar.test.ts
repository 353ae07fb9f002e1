import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { APGAR_WORDS, apgarSum, isApgarPart, isApgarTotal } from '../../../src/core/facts/apgar.ts';
import { FIELDS } from '../../../src/core/facts/completeness.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { checksOf, unread } from '../published-checks.ts';

const SIGNS = {
  colour: 'colour',
  'heart rate': 'heartRate',
  reflex: 'reflex',
  tone: 'tone',
  breathing: 'breathing',
} as const;
const partsOf = ([colour, heartRate, reflex, tone, breathing]: number[]) => ({
  colour,
  heartRate,
  reflex,
  tone,
  breathing,
});
const factsWith = (...entries: Entry[]) => {
  const record = new MadeRecord().called(at(5), 'born', { code: 'body-delivered' });
  for (const entry of entries) record.called(at(6), 'apgar', entry);
  return deriveFacts(record.view);
};

describe('Apgar', () => {
  it.each(checksOf('apgar'))('%s', (_title, check) => {
    const { sign, total, part, totals, asked } = check.input as Record<string, never>;
    const parts = check.input.parts_colour_heart_reflex_tone_breathing as number[] | undefined;
    if (sign !== undefined) expect(APGAR_WORDS[SIGNS[sign as keyof typeof SIGNS]]).toEqual(check.expected);
    else if (check.expected === 'conflict') {
      const { conflicts } = factsWith({ code: 'apgar', minute: 5, score: total, parts: partsOf(parts!) });
      expect(conflicts.map((c) => c.sentence)).toEqual([
        'Apgar at 5 min: the total given is 8, the parts make 7.',
      ]);
    } else if (parts !== undefined) expect(apgarSum(partsOf(parts))).toBe(check.expected);
    else if (totals !== undefined) {
      const { completeness } = factsWith(
        { code: 'apgar', minute: 1, score: 4 },
        { code: 'apgar', minute: 10, score: 8 },
      );
      const state = (id: string) =>
        completeness.groups.flatMap((g) => g.fields).find((f) => f.field.id === id)!.state;
      expect([state('apgar-1'), state('apgar-5'), state('apgar-10')]).toEqual([
        'recorded',
        check.expected,
        'recorded',
      ]);
    } else if (asked !== undefined) {
      for (const minute of check.expected as number[])
        expect(FIELDS.some(({ id }) => id === `apgar-${minute}`)).toBe(true);
    } else if (total !== undefined) expect(isApgarTotal(total) ? 'accept' : 'reject').toBe(check.expected);
    else if (part !== undefined) expect(isApgarPart(part) ? 'accept' : 'reject').toBe(check.expected);
    else unread(check);
  });

  it('gives no sum for parts of which one is missing', () => {
    expect(apgarSum({ colour: 2, tone: 2 })).toBeNull();
  });

  it('shows two totals for one minute, with both times', () => {
    const { conflicts } = factsWith(
      { code: 'apgar', minute: 1, score: 4 },
      { code: 'apgar', minute: 1, score: 5 },
    );
    expect(conflicts.map((c) => c.sentence)).toEqual([
      'Apgar at 1 min is recorded as 4 (14:06:00) and as 5 (14:06:00).',
    ]);
  });
});
