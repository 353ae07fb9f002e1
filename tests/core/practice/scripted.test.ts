import { describe, expect, test } from 'vitest';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import { takeIn } from '../../../src/core/dialogue/take-in.ts';
import type { RecordFile } from '../../../src/core/log/events.ts';
import { BUNDLED_SCENARIOS } from '../../../src/packs/scenarios.ts';
import { debrief } from '../../../src/core/practice/debrief.ts';
import { newDrill, playedDrill } from '../../../src/core/practice/drill.ts';
import type { Scenario } from '../../../src/core/practice/scenario.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { practiceRecord } from './drill-record.ts';

const vocabulary = loadVocabulary();

/** The record that results when every line is heard word for word at its time. */
function heardPerfectly(scenario: Scenario): RecordFile {
  let file = practiceRecord([]);
  let names = 0;
  for (const { atMs, text } of scenario.lines) {
    const heard = { onsetMs: atMs, endMs: atMs + 1500, heard: { tuned: { text } } };
    const { bodies } = takeIn(heard, foldRecord(file), vocabulary, () => `n${names++}`);
    const made = { by: { kind: 'voice' } as const, madeAtMs: atMs + 2000, madeAt: file.createdAt };
    file = { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, bodies, made)] };
  }
  return file;
}

function debriefOf(scenario: Scenario) {
  const startedAt = '2026-03-05T10:00:00.000+00:00';
  const drill = newDrill({ recordId: 'drill-1', way: 'recording', scenario, startedAt });
  return debrief(playedDrill(drill, scenario, 0), foldRecord(heardPerfectly(scenario)), vocabulary);
}

/** What the scripts themselves leave out: never said, and said with an offset. */
const EXPECTED: Record<string, { notSaid: string[]; headToBodyS: number }> = {
  'posterior-arm': { notSaid: [], headToBodyS: 79.1 },
  'first-manoeuvre': { notSaid: ['cry'], headToBodyS: 37.4 },
  'everything-tried': { notSaid: [], headToBodyS: 181.2 },
  'side-corrected': { notSaid: ['pressure-off'], headToBodyS: 54.6 },
};

describe.each(BUNDLED_SCENARIOS.map((scenario) => [scenario.id, scenario] as const))('%s', (id, scenario) => {
  const result = debriefOf(scenario);
  const expected = EXPECTED[id]!;

  test('heard word for word, every call-out stands in the record, in time and right', () => {
    const problems = result.events
      .filter((event) => event.status !== 'called')
      .map(({ id, status, cause, heard }) => [id, status, cause, ...heard.map((h) => h.heard)]);
    expect(problems).toEqual(expected.notSaid.map((event) => [event, 'missing', 'not-said']));
    expect(result.extras).toEqual([]);
  });

  test('head to body is the difference of the script’s times', () => {
    const at = (code: string) => scenario.truth.find((event) => event.entry.code === code)!.atMs;
    expect(result.headToBody.truthMs).toBe(at('body-delivered') - at('head-delivered'));
    expect(result.headToBody.truthMs! / 1000).toBeCloseTo(expected.headToBodyS, 5);
    expect(Math.abs(result.headToBody.errorMs!)).toBeLessThan(1000);
  });

  test('the manoeuvres stand in their order', () => {
    expect(result.order.recorded).toEqual(result.order.truth);
  });
});

test('the side that was called wrongly is right after the correction, and marked as corrected', () => {
  const scenario = BUNDLED_SCENARIOS.find(({ id }) => id === 'side-corrected')!;
  const pressure = debriefOf(scenario).events.find(({ id }) => id === 'pressure')!;
  expect(pressure.recorded).toMatchObject({ entry: { side: 'left' }, corrected: true, atMs: 35_000 });
});
