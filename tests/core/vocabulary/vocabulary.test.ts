import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import seed from '../../../models/training/data/confusion-seed.json';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import confusions from '../../../src/core/interpret/words/confusions.json';
import { learnConfusions, mixed } from '../../../src/core/interpret/words/learn-confusions.ts';
import { tryPhrase } from '../../../src/core/interpret/try-phrase.ts';
import { codeInfo } from '../../../src/core/vocabulary/code-info.ts';
import { entryLabel } from '../../../src/core/vocabulary/entry-label.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { exportUnitList, importUnitList } from '../../../src/core/vocabulary/unit-list.ts';
import type { UnitVocabulary } from '../../../src/core/vocabulary/vocabulary.ts';

const vocabulary = loadVocabulary();
const UNIT: UnitVocabulary = {
  phrases: { mcroberts: ['frog her legs'] },
  roles: [{ role: 'porter', label: 'Porter', say: ['porter'] }],
  drugs: [{ drug: 'atosiban', say: ['atosiban', 'tractocile'] }],
  codes: [{ code: 'bed-flat', label: 'Bed flat', say: ['bed down flat now'] }],
};
const withUnit = loadVocabulary(UNIT);
const entriesOf = (text: string, of = withUnit) =>
  interpret({ tuned: { text } }, { asking: false }, of).entries;

describe('vocabulary', { timeout: 30_000 }, () => {
  test('every frequent code has at least 12 wordings', () => {
    const free = [
      'apgar',
      'cord-gas',
      'birth-weight',
      'perineum',
      'blood-loss',
      'drug-given',
      'fetal-position',
      'free-note',
      'symphysiotomy',
    ];
    for (const code of vocabulary.codes.keys()) {
      if (free.includes(code)) continue;
      const count = (vocabulary.phrases.get(code) ?? []).reduce((sum, { say }) => sum + say.length, 0);
      expect(count, code).toBeGreaterThanOrEqual(12);
    }
  });

  test('labels say the slots in plain words', () => {
    expect(entryLabel({ code: 'suprapubic-pressure', side: 'left', phase: 'start' }, vocabulary)).toBe(
      "Suprapubic pressure, from the mother's left – started",
    );
    expect(
      entryLabel({ code: 'cord-gas', vessel: 'arterial', ph: 7.18, baseExcess: -6.5 }, vocabulary),
    ).toContain('base excess −6.5 mmol/L');
    expect(entryLabel({ code: 'cord-gas', vessel: 'arterial', ph: 7.2 }, vocabulary)).toContain('pH 7.20');
    expect(entryLabel({ code: 'cord-gas', vessel: 'venous', ph: 7.185 }, vocabulary)).toContain('pH 7.185');
    const parts = { colour: 1, heartRate: 2, tone: 0 };
    expect(entryLabel({ code: 'apgar', score: 7, minute: 1, parts }, vocabulary)).toContain(
      '7, at 1 min, colour 1, heart rate 2, tone 0',
    );
    expect(codeInfo(vocabulary, 'unit-thing').label).toBe('Unit thing');
  });

  test("a unit's words, roles, drugs and codes are heard", () => {
    expect(entriesOf('frog her legs')).toEqual([{ code: 'mcroberts' }]);
    expect(entriesOf('call the porter')).toEqual([{ code: 'role-called', role: 'porter' }]);
    expect(entriesOf('atosiban given')).toEqual([{ code: 'drug-given', drug: 'atosiban' }]);
    expect(entriesOf('bed down flat now')).toEqual([{ code: 'bed-flat' }]);
    expect(entriesOf('frog her legs', vocabulary)).toEqual([]);
  });

  test('a phrase that means something else already is refused with a clear sentence', () => {
    expect(() => loadVocabulary({ phrases: { 'body-delivered': ['head out'] } })).toThrow(
      /"head out" means both head-delivered and body-delivered/,
    );
    expect(() => loadVocabulary({ phrases: { 'body-delivered': ["and that's the head's out"] } })).toThrow(
      /means both head-delivered and body-delivered/,
    );
    expect(() => loadVocabulary({ phrases: { 'no-such-code': ['something'] } })).toThrow(
      /there is no code "no-such-code"/,
    );
    expect(() => loadVocabulary({ codes: [{ code: 'Bad Code', label: 'x', say: ['xyz abc'] }] })).toThrow(
      /"Bad Code" is no code/,
    );
    expect(() => loadVocabulary({ codes: [{ code: 'apgar', label: 'x', say: ['xyz abc'] }] })).toThrow(
      /the code "apgar" is taken/,
    );
  });

  test('trying a phrase shows what it logs and what it lies too close to', () => {
    expect(tryPhrase('posterior arm out', vocabulary).meaning.entries).toEqual([
      { code: 'posterior-arm', phase: 'done' },
    ]);
    const close = tryPhrase('posterior farm out', vocabulary).close;
    expect(close[0]?.code).toBe('posterior-arm');
    expect(
      tryPhrase('posterior arm out', vocabulary, 'posterior-arm').close.map((one) => one.code),
    ).not.toContain('posterior-arm');
    expect(tryPhrase('xylophone concert', vocabulary).close).toEqual([]);
  });

  test.each([
    ['head out', 'internal-entry'],
    ['hand out', 'head-delivered'],
    ['posterior shoulder out', 'anterior-shoulder-delivered'],
    ['barbie out', 'body-delivered'],
    ['reverse wood', 'reverse-woods-screw'],
    ['stop rushing', 'stop-pushing'],
    ['stop rushing', 'push'],
    ['axial distraction', 'posterior-axilla-traction'],
    ['ruby two', 'rubin-2'],
    ['chord clamped', 'cord-clamped'],
    ['fungal pressure', 'no-fundal-pressure'],
    ['undue', 'undo'],
    ['read bag', 'read-back'],
    ['pores', 'pause'],
    ['tides', 'role-called'],
    ['oxytokin', 'drug-given'],
    ['yess', 'confirm'],
  ])('"%s" is named as too close to %s', (phrase, code) => {
    expect(tryPhrase(phrase, vocabulary).close.map((one) => one.code)).toContain(code);
  });

  test.each(['window open', 'bed number seven', 'gloves changed', 'curtains closed'])(
    '"%s" lies close to nothing',
    (phrase) => expect(tryPhrase(phrase, vocabulary).close).toEqual([]),
  );

  test('a list goes out and comes back the same; a damaged one is refused whole', () => {
    expect(importUnitList(exportUnitList(UNIT), loadVocabulary)).toEqual({ kind: 'ok', unit: UNIT });
    expect(importUnitList('{', loadVocabulary).kind).toBe('refused');
    expect(
      importUnitList('{"format":"utterlog-unit-words","version":1,"roles":[{"role":"x"}]}', loadVocabulary),
    ).toEqual({
      kind: 'refused',
      sentence: expect.stringContaining('roles, line 1'),
    });
    expect(importUnitList('{"format":"utterlog-unit-words","version":2}', loadVocabulary).kind).toBe(
      'refused',
    );
    expect(
      importUnitList(
        '{"format":"utterlog-unit-words","version":1,"phrases":{"nothing":["a b c"]}}',
        loadVocabulary,
      ).kind,
    ).toBe('refused');
  });

  test('confusions are learnt from pairs, opposites never', () => {
    const pairs = Array.from(
      { length: 5 },
      () => ['posterior arm out', 'posteria arm out'] as [string, string],
    );
    const learnt = learnConfusions(
      [...pairs, ['anterior shoulder', 'posterior shoulder'], ['anterior shoulder', 'posterior shoulder']],
      vocabulary,
    );
    expect(learnt.words).toEqual([{ heard: 'posteria', meant: 'posterior', times: 5 }]);
    expect(learnt.pairs).toBe(7);
  });

  test('the shipped costs are the seed and the measured pairs, made anew', () => {
    const { source: _source, pairs: count, ...shipped } = confusions;
    const pairs = readFileSync(new URL('../../../models/training/data/heard.tsv', import.meta.url), 'utf8')
      .split(/\r?\n/)
      .filter((line) => line.includes('\t'))
      .map((line) => line.split('\t') as [string, string]);
    const { about: _about, ...set } = seed;
    expect(pairs.length).toBe(count);
    expect(mixed(set, learnConfusions(pairs, vocabulary))).toEqual(shipped);
  });
});
