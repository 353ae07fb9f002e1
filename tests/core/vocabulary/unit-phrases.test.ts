import { describe, expect, test } from 'vitest';
import { loadVocabulary, storedVocabulary } from '../../../src/packs/vocabulary.ts';
import { unitFaults, withoutFaults } from '../../../src/core/vocabulary/unit-phrases.ts';
import type { UnitVocabulary } from '../../../src/core/vocabulary/vocabulary.ts';

const builtIn = loadVocabulary();
const whyNot = (code: string, phrase: string): string | undefined =>
  unitFaults({ phrases: { [code]: [phrase] } }, builtIn)[0]?.why;

describe("a unit's own words", () => {
  test.each([
    ['push', 'dont push now', /negation/],
    ['cord-clamped', 'suprapubic pressure from the left', /side/],
    ['cord-clamped', 'suprapubic pressure going', /which means Suprapubic pressure/],
    ['mcroberts', 'frog her legs two', /number/],
    ['mcroberts', 'are her legs frogged', /question/],
    ['mcroberts', 'frog her legs?', /question/],
    ['anterior-shoulder-delivered', 'the posterior part slips', /opposite/],
    ['mcroberts', 'frogging off', /opposite/],
    ['episiotomy', 'no snip', /negation/],
    ['head-delivered', 'baby out', /which means/],
  ])('%s: "%s" is refused with the reason', (code, phrase, reason) => {
    expect(whyNot(code, phrase)).toMatch(reason);
    expect(() => loadVocabulary({ phrases: { [code]: [phrase] } })).toThrow(reason);
    expect(() => loadVocabulary({ phrases: { [code]: [phrase] } })).toThrow(phrase);
  });

  test.each([
    ['mcroberts', 'frog her legs'],
    ['help-called', 'dial three three three three'],
    ['help-called', 'red alert'],
    ['episiotomy', 'snip snip'],
    ['stop-pushing', 'blow it away'],
  ])('%s: "%s" is taken', (code, phrase) => expect(whyNot(code, phrase)).toBeUndefined());

  test('roles, drugs and codes of a unit hold no side, number, negation or question either', () => {
    const unit: UnitVocabulary = {
      roles: [{ role: 'porter', label: 'Porter', say: ['porter', 'porter two'] }],
      drugs: [{ drug: 'atosiban', say: ['atosiban', 'not atosiban'] }],
      codes: [{ code: 'bed-flat', label: 'Bed flat', say: ['bed down flat', 'is the bed flat'] }],
    };
    expect(unitFaults(unit, builtIn).map(({ phrase }) => phrase)).toEqual([
      'is the bed flat',
      'porter two',
      'not atosiban',
    ]);
  });

  test('a list that is stored already loses only its offending phrases, and says which', () => {
    const unit: UnitVocabulary = {
      phrases: { push: ['dont push now'], mcroberts: ['frog her legs', 'frog the left leg'] },
    };
    const { vocabulary, left, fits } = storedVocabulary(unit);
    expect(fits).toBe(true);
    expect(left.map(({ of, phrase }) => [of, phrase])).toEqual([
      ['push', 'dont push now'],
      ['mcroberts', 'frog the left leg'],
    ]);
    expect(withoutFaults(unit, left)).toEqual({ phrases: { mcroberts: ['frog her legs'] } });
    expect(vocabulary.phrases.get('mcroberts')!.at(-1)!.say).toEqual(['frog her legs']);
  });

  test('nothing stored, nothing left out', () => {
    expect(storedVocabulary(undefined)).toEqual({ vocabulary: builtIn, left: [], fits: true });
  });
});
