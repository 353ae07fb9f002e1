import fc from 'fast-check';
import { expect, test } from 'vitest';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

/** Words of numbers, units and times in any order: what a recogniser may make of noise must never stop the tool. */
const PIECES =
  'weight kilos grams pounds ounces point and a half one two five ten twelve twenty hundred thousand minus plus oh nought double p h pco2 base excess deficit lactate arterial venous apgar at minute minutes ago seconds blood loss litres mils 4.2 7.18 3,600 12:30 14 degree tear three b quarter past to left right seven zero . , ? kpa correction no not undo head out baby'.split(
    ' ',
  );
const vocabulary = loadVocabulary();
const words = fc
  .array(fc.constantFrom(...PIECES), { minLength: 1, maxLength: 10 })
  .map((all) => all.join(' '));

test('no order of number words makes the interpreter fail or leave a hole in its answer', () => {
  fc.assert(
    fc.property(words, fc.option(words, { nil: undefined }), fc.boolean(), (text, other, asking) => {
      const heard = { tuned: { text }, ...(other === undefined ? {} : { untouched: { text: other } }) };
      expect(JSON.stringify(interpret(heard, { asking }, vocabulary))).not.toMatch(/null|undefined|NaN/);
    }),
    { numRuns: 3000 },
  );
}, 60_000);

test.each(['three point eight point five', 'three point point eight', '3.8.5'])(
  'a number with two points is asked about: %s',
  (number) => {
    const meaning = interpret({ tuned: { text: `weight ${number} kilos` } }, { asking: false }, vocabulary);
    expect(meaning.outcome).toBe('ask');
  },
);
