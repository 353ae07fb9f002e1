import { expect, test } from 'vitest';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { CHECKS } from '../published-checks.ts';

/** Check values for spoken numbers and grades; each names its source and how it was read (tag) in the file. */
interface Check {
  id: string;
  area: string;
  input: { spoken: string };
  expected: string | number;
  source: string;
}
const vocabulary = loadVocabulary();
/** What the value is said with, since a bare number names nothing. */
const SAID: Record<string, (spoken: string) => string> = {
  perineum: (spoken) => `${spoken} tear`,
  'blood-loss': (spoken) => `blood loss ${spoken}`,
  weight: (spoken) => `birth weight ${spoken}`,
  unit: (spoken) => `arterial ${spoken}`,
  side: (spoken) => spoken,
};
const SLOT: Record<string, 'grade' | 'millilitres' | 'grams'> = {
  perineum: 'grade',
  'blood-loss': 'millilitres',
  weight: 'grams',
};

const spoken = CHECKS.filter(({ input }) => typeof input.spoken === 'string') as unknown as Check[];
test.each(spoken.map((check) => [check.id, check.source, check] as const))(
  '%s (%s)',
  (_id, _source, { area, input, expected }) => {
    const meaning = interpret({ tuned: { text: SAID[area]!(input.spoken) } }, { asking: false }, vocabulary);
    if (expected === 'ask') return expect(meaning.outcome).toBe('ask');
    expect(meaning.outcome).toBe('accept');
    const grade = typeof expected === 'string' ? expected.replace(' (letter unknown)', '') : expected;
    expect(meaning.entries[0]![SLOT[area]!]).toBe(grade);
  },
);
