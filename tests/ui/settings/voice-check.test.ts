import { describe, expect, it } from 'vitest';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import {
  judge,
  medianOf,
  PHRASES,
  resultsFile,
  verdictOf,
  type CheckResult,
  type Outcome,
} from '../../../src/ui/settings/voice-check.ts';

const vocabulary = loadVocabulary();
const understand = (words: string) => interpret({ tuned: { text: words } }, { asking: false }, vocabulary);
const results = (outcomes: Outcome[], speechToNoiseDb: number | null = 25): CheckResult[] =>
  outcomes.map((outcome) => ({ say: 'x', outcome, heard: 'x', heardSecond: '', speechToNoiseDb }));
const many = (count: number, outcome: Outcome): Outcome[] => Array<Outcome>(count).fill(outcome);

describe('phrases of the voice check', () => {
  it('are 12 to 20', () => {
    expect(PHRASES.length).toBeGreaterThanOrEqual(12);
    expect(PHRASES.length).toBeLessThanOrEqual(20);
  });
  it.each(PHRASES)('$say, clearly read, counts as heard', ({ say, entries }) => {
    expect(judge(entries, understand(say))).toBe('heard');
  });
});

describe('what came of a phrase', () => {
  const head = [{ code: 'head-delivered' }];
  it('is wrong where something else would be logged', () => {
    expect(judge(head, understand('hand out'))).toBe('wrong');
    expect(judge(head, understand('undo'))).toBe('wrong');
  });
  it('is missed where nothing would be', () => {
    expect(judge(head, understand('where is the trolley'))).toBe('missed');
  });
  it('is asked where the tool would ask', () => {
    const wanted = [{ code: 'apgar', score: 9, minute: 5 } as const];
    expect(judge(wanted, understand('apgar nine'))).toBe('asked');
  });
});

describe('the plain statement', () => {
  it('relies on the room only when nearly all is heard and nothing wrong', () => {
    expect(verdictOf(results(many(18, 'heard')))).toBe('rely');
    expect(verdictOf(results([...many(17, 'heard'), 'missed']))).toBe('rely');
    expect(verdictOf(results([...many(17, 'heard'), 'wrong']))).toBe('helper');
    expect(verdictOf(results([...many(14, 'heard'), ...many(4, 'asked')]))).toBe('helper');
    expect(verdictOf(results([...many(16, 'heard'), 'wrong', 'wrong']))).toBe('touch');
    expect(verdictOf(results([...many(9, 'heard'), ...many(9, 'missed')]))).toBe('touch');
    expect(verdictOf([])).toBe('touch');
  });
  it('never relies on a room where speech hardly stands out', () => {
    expect(verdictOf(results(many(18, 'heard'), 8))).toBe('helper');
    expect(verdictOf(results(many(18, 'heard'), null))).toBe('rely');
  });
});

it('finds the median', () => {
  expect([medianOf([]), medianOf([3]), medianOf([9, 1, 5]), medianOf([4, 1, 3, 2])]).toEqual([
    null,
    3,
    5,
    2.5,
  ]);
});

it('writes the results without sound', () => {
  const file = JSON.parse(
    resultsFile(
      results(['heard', 'missed'], 20),
      { noiseFloorDb: -60, microphone: 'desk' },
      '2026-03-05T14:00:00Z',
    ),
  );
  expect(file).toMatchObject({
    format: 'utterlog-voice-check',
    version: 1,
    speechToNoiseDb: 20,
    verdict: 'touch',
  });
  expect(file.results).toHaveLength(2);
});
