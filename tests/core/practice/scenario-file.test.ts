import { describe, expect, test } from 'vitest';
import { BUNDLED_SCENARIOS, PRACTICE_EMERGENCY } from '../../../src/packs/scenarios.ts';
import { exportScenario, importScenario, scenarioFaults } from '../../../src/core/practice/scenario-file.ts';
import { emptyScenario, tidyScenario, type Scenario } from '../../../src/core/practice/scenario.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const own: Scenario = {
  ...emptyScenario('own-one', 'One of our own'),
  lengthMs: 60_000,
  truth: [
    { id: 'head', atMs: 5_000, entry: { code: 'head-delivered' } },
    { id: 'pressure', atMs: 20_000, entry: { code: 'suprapubic-pressure', phase: 'start', side: 'left' } },
  ],
};
const refusalOf = (changed: unknown) => {
  const outcome = importScenario(JSON.stringify(changed), vocabulary);
  if (outcome.kind !== 'refused') throw new Error('was not refused');
  return outcome;
};
const withEntry = (entry: unknown) => ({ ...own, truth: [{ id: 'x', atMs: 0, entry }] });

describe('bundled scenarios', () => {
  test.each(BUNDLED_SCENARIOS.map((scenario) => [scenario.id, scenario] as const))(
    '%s is whole, in time order, and survives export and import',
    (_, scenario) => {
      expect(scenarioFaults(scenario, vocabulary)).toEqual([]);
      expect(tidyScenario(scenario)).toEqual(scenario);
      expect(importScenario(exportScenario(scenario), vocabulary)).toEqual({ kind: 'ok', scenario });
    },
  );

  test('the practice emergency has at least 20 call-outs in several voices within two and a half minutes', () => {
    const callOuts = PRACTICE_EMERGENCY.lines.filter((line) => line.says);
    expect(callOuts.length).toBeGreaterThanOrEqual(20);
    expect(new Set(callOuts.map((line) => line.speaker)).size).toBeGreaterThanOrEqual(3);
    expect(PRACTICE_EMERGENCY.lengthMs).toBeLessThanOrEqual(150_000);
  });

  test('every line is spoken at or after what it tells of', () => {
    for (const { truth, lines } of BUNDLED_SCENARIOS) {
      const at = new Map(truth.map((event) => [event.id, event.atMs]));
      for (const line of lines)
        for (const id of line.says ?? []) expect(line.atMs).toBeGreaterThanOrEqual(at.get(id)!);
    }
  });
});

describe('import', () => {
  test('a unit’s own scenario comes back the same, in time order', () => {
    const outcome = importScenario(JSON.stringify({ ...own, truth: [...own.truth].reverse() }), vocabulary);
    expect(outcome).toEqual({ kind: 'ok', scenario: own });
  });

  test.each([
    ['no JSON', '{', ''],
    ['another file', '{"format":"utterlog-record"}', 'format'],
    ['a later version', '{"format":"utterlog-scenario","version":2}', 'version'],
  ])('%s is refused, and says that nothing was imported', (_, text, place) => {
    const outcome = importScenario(text, vocabulary);
    expect(outcome).toMatchObject({ kind: 'refused', place });
    expect((outcome as { sentence: string }).sentence).toContain('Nothing was imported');
  });

  test('a value of the wrong kind is named by its place', () => {
    const changed = { ...own, truth: [own.truth[0], { ...own.truth[1], atMs: 'soon' }] };
    expect(refusalOf(changed).place).toBe('truth[1].atMs');
  });

  test.each([
    ['an unknown code', { code: 'levitation' }, 'truth[0].entry.code'],
    ['a slot of another code', { code: 'head-delivered', side: 'left' }, 'truth[0].entry.side'],
    ['a missing slot', { code: 'head-faces' }, 'truth[0].entry.side'],
    ['a phase that the code lacks', { code: 'internal-entry', phase: 'failed' }, 'truth[0].entry.phase'],
    ['an unknown role', { code: 'role-called', role: 'wizard' }, 'truth[0].entry.role'],
  ])('%s is refused at its place', (_, entry, place) => {
    expect(refusalOf(withEntry(entry)).place).toBe(place);
  });

  test('ids used twice, lines without speaker, lines about nothing', () => {
    const twice = { ...own, truth: [own.truth[0], own.truth[0]] };
    expect(refusalOf(twice).place).toBe('truth[1].id');
    const line = { atMs: 0, speaker: 'nobody', text: 'head out' };
    expect(refusalOf({ ...own, lines: [line] }).place).toBe('lines[0].speaker');
    const speakers = [{ id: 'nobody', role: 'midwife' }];
    expect(refusalOf({ ...own, speakers, lines: [{ ...line, says: ['tail'] }] }).place).toBe('lines[0].says');
  });

  test('a scenario without events is refused', () => {
    expect(refusalOf(emptyScenario('nothing', 'Nothing')).place).toBe('truth');
  });
});
