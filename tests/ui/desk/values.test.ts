import { describe, expect, test } from 'vitest';
import { codeInfo } from '../../../src/core/vocabulary/code-info.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { draftOf, readDraft, type EntryDraft } from '../../../src/ui/entry-form/entry-draft.ts';
import { offsetMs, offsetText } from '../../../src/ui/desk/clock-offset.ts';
import { sumOfParts, typedGrams, typedNumber, typedWithin } from '../../../src/ui/entry-form/typed-values.ts';
import type { Entry } from '../../../src/core/entry.ts';

const vocabulary = loadVocabulary();
const { ranges } = vocabulary;
const read = (code: string, changes: Partial<EntryDraft>, fixed: Partial<Entry> = {}) =>
  readDraft({ ...draftOf({}), ...changes }, codeInfo(vocabulary, code), ranges, fixed);

describe('a typed figure', () => {
  test.each([
    ['7.18', 7.18],
    ['7,18', 7.18],
    ['−6.5', -6.5],
    ['+2', 2],
    [' 12 ', 12],
  ])('%s is %s', (typed, value) => expect(typedNumber(typed)).toEqual({ kind: 'value', value }));

  // "1,200" is 1200 in one country and 1.2 in another.
  test.each(['7.1.8', '1,200', '7 18', 'abc', '1e3', '--2', '7.', '.5', 'NaN', 'Infinity'])(
    '%s is refused, not read in part',
    (typed) => expect(typedNumber(typed).kind).toBe('refused'),
  );

  test('both ends of a range are in it', () => {
    expect(typedWithin('6.5', { min: 6.5, max: 7.8 }).kind).toBe('value');
    expect(typedWithin('7.8', { min: 6.5, max: 7.8 }).kind).toBe('value');
    expect(typedWithin('7.81', { min: 6.5, max: 7.8 }).kind).toBe('refused');
  });
});

describe('birth weight', () => {
  const range = { min: 300, max: 7000 };
  // 1 lb = 453.59237 g, 1 oz = 28.349523125 g (international definition); within 0.5 g.
  test.each([
    ['10', '0', 4536],
    ['11', '0', 4990],
    ['11', '', 4990],
    ['9', '4.2', 4201],
    ['7', '11.5', 3501],
  ])('%s lb %s oz is %i g', (pounds, ounces, grams) =>
    expect(typedGrams('lb', pounds, ounces, range)).toEqual({ kind: 'value', value: grams }),
  );
  // 1 kg = 1000 g.
  test('4.2 kg is 4200 g, 4,2 too', () => {
    expect(typedGrams('kg', '4.2', '', range)).toEqual({ kind: 'value', value: 4200 });
    expect(typedGrams('kg', '4,2', '', range)).toEqual({ kind: 'value', value: 4200 });
  });
  test.each([
    ['g', '42', ''],
    ['g', '4.2', ''],
    ['kg', '4200', ''],
    ['kg', '38', ''],
    ['lb', '9', '16'],
    ['lb', '9.5', '2'],
    ['lb', '', '9'],
  ] as const)('%s %s %s is refused', (unit, main, ounces) =>
    expect(typedGrams(unit, main, ounces, range).kind).toBe('refused'),
  );
  test('the words as typed stay with a converted weight', () => {
    expect(read('birth-weight', { weightUnit: 'lb', weight: '9', ounces: '4' })).toEqual({
      kind: 'entry',
      entry: { code: 'birth-weight', grams: 4196, spoken: '9 lb 4 oz' },
    });
  });
});

describe('cord gas typed at the desk', () => {
  const fixed = { vessel: 'arterial' } as const;
  test('unit and sign go where they belong', () => {
    const result = read(
      'cord-gas',
      { ph: '7.08', pco2: '62', pco2Unit: 'mmHg', baseExcess: '11.5', baseExcessAs: 'minus' },
      fixed,
    );
    expect(result).toEqual({
      kind: 'entry',
      entry: { code: 'cord-gas', vessel: 'arterial', ph: 7.08, pco2Mmhg: 62, baseExcess: -11.5 },
    });
  });
  test('a deficit of 12.0 is an excess of −12.0, and its name is kept', () => {
    // Base deficit = − base excess [computed].
    const result = read('cord-gas', { baseExcess: '12.0', baseExcessAs: 'deficit' }, fixed);
    expect(result).toEqual({
      kind: 'entry',
      entry: { code: 'cord-gas', vessel: 'arterial', baseExcess: -12, spoken: 'base deficit 12' },
    });
  });
  test.each<[string, Partial<EntryDraft>, string]>([
    ['no unit', { pco2: '13' }, 'pco2'],
    ['no sign', { baseExcess: '2' }, 'baseExcess'],
    ['two signs', { baseExcess: '-2', baseExcessAs: 'plus' }, 'baseExcess'],
    ['pH ten times too large', { ph: '71.8' }, 'ph'],
    ['pCO2 outside kPa', { pco2: '62', pco2Unit: 'kPa' }, 'pco2'],
    ['excess below the range', { baseExcess: '41', baseExcessAs: 'minus' }, 'baseExcess'],
    ['excess above the range', { baseExcess: '21', baseExcessAs: 'plus' }, 'baseExcess'],
    ['lactate below zero', { lactate: '-1' }, 'lactate'],
  ])('%s: refused, nothing reaches the slot', (_why, draft, slot) => {
    const result = read('cord-gas', draft, fixed);
    expect(result.kind).toBe('refused');
    expect(result.kind === 'refused' && Object.keys(result.problems)).toEqual([slot]);
  });
  test('nothing at all is refused', () => expect(read('cord-gas', {}, fixed).kind).toBe('refused'));
  test('zero needs no sign and is never minus zero', () => {
    const result = read('cord-gas', { baseExcess: '0' }, fixed);
    expect(result.kind === 'entry' && Object.is(result.entry.baseExcess, 0)).toBe(true);
    const minus = read('cord-gas', { baseExcess: '0', baseExcessAs: 'minus' }, fixed);
    expect(minus.kind === 'entry' && Object.is(minus.entry.baseExcess, 0)).toBe(true);
  });
  test('what stands comes back into the form as it was', () => {
    const entry: Entry = {
      code: 'cord-gas',
      vessel: 'arterial',
      ph: 7.08,
      pco2: 8.2,
      baseExcess: -11.5,
      lactate: 6,
    };
    expect(readDraft(draftOf(entry), codeInfo(vocabulary, 'cord-gas'), ranges, fixed)).toEqual({
      kind: 'entry',
      entry,
    });
  });
});

describe('Apgar typed at the desk', () => {
  test('a total and parts that disagree are both kept as given', () => {
    // Parts 1+2+1+1+2 make 7, not 8 [computed].
    const parts = { colour: '1', heartRate: '2', reflex: '1', tone: '1', breathing: '2' };
    expect(read('apgar', { score: '8', parts }, { minute: 1 })).toEqual({
      kind: 'entry',
      entry: {
        code: 'apgar',
        minute: 1,
        score: 8,
        parts: { colour: 1, heartRate: 2, reflex: 1, tone: 1, breathing: 2 },
      },
    });
  });
  test('2+2+1+1+2 make 8; four parts make no sum', () => {
    expect(sumOfParts({ colour: 2, heartRate: 2, reflex: 1, tone: 1, breathing: 2 })).toBe(8);
    expect(sumOfParts({ colour: 2, heartRate: 2, reflex: 1, tone: 1 })).toBeNull();
  });
  test('parts alone never become a total', () => {
    const parts = { colour: '1', heartRate: '2', reflex: '1', tone: '1', breathing: '2' };
    expect(read('apgar', { parts }, { minute: 5 }).kind).toBe('refused');
  });
  test.each(['12', '-1', '7.5'])('a score of %s is refused', (score) =>
    expect(read('apgar', { score }, { minute: 5 }).kind).toBe('refused'),
  );
});

describe('difference of two clocks', () => {
  test.each([
    ['+1:30', 90_000],
    ['−0:45', -45_000],
    ['-45', -45_000],
    ['0', 0],
    ['', null],
  ])('%s', (typed, ms) => expect(offsetMs(typed)).toBe(ms));
  test.each(['1:30', '+1:75', 'two', '+99999:00'])('%s is refused', (typed) =>
    expect(offsetMs(typed)).toBe('refused'),
  );
  test('is shown as it was typed', () => {
    expect(offsetText(offsetMs('+1:30') as number)).toBe('+1:30');
    expect(offsetText(offsetMs('−0:45') as number)).toBe('−0:45');
  });
});
