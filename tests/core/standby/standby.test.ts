import { describe, expect, test } from 'vitest';
import { takeIn, meaningOf, type HeardUtterance } from '../../../src/core/dialogue/take-in.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import {
  meaningInStandby,
  STANDING_BY,
  stepStandby,
  type Standby,
  type StandbyEvent,
} from '../../../src/core/standby/standby.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const file = createRecordFile({ recordId: 'r', mode: 'real', wallMs: 0, createdAt: '', timeZone: 'UTC' });
const nothing = foldRecord({ ...file, events: [] });
const MINUTE = 60_000;

const said = (words: string, atMs: number): HeardUtterance => ({
  onsetMs: atMs,
  endMs: atMs + 1000,
  heard: { tuned: { text: words }, untouched: { text: words } } as HeardUtterance['heard'],
});
const hear = (state: Standby, words: string, atMs: number): Standby => {
  const utterance = said(words, atMs);
  const meaning = meaningOf(utterance, nothing, vocabulary);
  return stepStandby(state, { kind: 'heard', utterance, meaning }, atMs + 1500);
};

test('one listening of several that hears a beginning begins a record; none does not', () => {
  const again = (...words: string[]): HeardUtterance => ({
    ...said('bigging', 0),
    again: words.map((one) => said(one, 0).heard),
  });
  const kindOf = (utterance: HeardUtterance) =>
    stepStandby(
      STANDING_BY,
      { kind: 'heard', utterance, meaning: meaningInStandby(utterance, nothing, vocabulary) },
      1500,
    ).kind;
  expect(kindOf(again('big good', 'begin'))).toBe('begun');
  expect(kindOf(again('big good', 'bacon'))).toBe('standing-by');
  expect(kindOf(again())).toBe('standing-by');
});

const wordsOf = ({ held }: Standby): string[] => held.map(({ heard }) => heard.tuned.text);

describe('what begins a record', () => {
  test.each([
    ['head delivered', 'begun'],
    ['head is out', 'begun'],
    ['shoulder dystocia', 'begun'],
    ['this is a shoulder dystocia', 'begun'],
    ['begin', 'begun'],
    ['start recording', 'begun'],
    ['head delivered two minutes ago', 'begun'],
    ['hand out', 'begun'],
    ['hand delivered', 'begun'],
    ['ahead delivered', 'begun'],
    ['going for the posterior arm', 'begun'],
    ['the head is retracting', 'begun'],
    ['mcroberts on', 'standing-by'],
    ['push', 'standing-by'],
    ['baby born', 'standing-by'],
    ['apgar nine', 'standing-by'],
    ['is the head delivered', 'standing-by'],
    ['the head is coming', 'standing-by'],
    ['if it is a shoulder dystocia we call for help', 'standing-by'],
    ['what time is it', 'standing-by'],
    ['undo', 'standing-by'],
    ['well done you are doing so well', 'standing-by'],
  ])('%s: %s', (words, kind) => {
    expect(hear(STANDING_BY, words, 0).kind).toBe(kind);
  });
});

describe('what is held', () => {
  test.each([
    ['mcroberts on', 1],
    ['apgar nine', 1],
    ['mark', 1],
    ['undo', 1],
    ['what time is it', 0],
    ['where is the other trolley', 0],
    ['yes', 0],
  ])('%s: %d', (words, count) => {
    expect(hear(STANDING_BY, words, 0).held).toHaveLength(count);
  });

  test('for three minutes from its end and not longer', () => {
    const state = hear(STANDING_BY, 'push', 0);
    const at = (ms: number) => stepStandby(state, { kind: 'tick' }, ms).held.length;
    expect(at(1000 + 3 * MINUTE)).toBe(1);
    expect(at(1001 + 3 * MINUTE)).toBe(0);
  });

  test('what went is not in the record that begins later', () => {
    const state = hear(
      hear(hear(STANDING_BY, 'push', 0), 'stop pushing', 2 * MINUTE),
      'head delivered',
      4 * MINUTE,
    );
    expect(state.kind).toBe('begun');
    expect(wordsOf(state)).toEqual(['stop pushing', 'head delivered']);
  });
});

describe('while the record is being made', () => {
  const begun = hear(hear(STANDING_BY, 'push', 0), 'head delivered', 5000);

  test.each<[string, StandbyEvent, string[]]>([
    [
      'talk waits too',
      {
        kind: 'heard',
        utterance: said('x y', 8000),
        meaning: { outcome: 'unrecognised', entries: [] } as never,
      },
      ['push', 'head delivered', 'x y'],
    ],
    ['nothing goes by time', { kind: 'tick' }, ['push', 'head delivered']],
    ['what was taken goes', { kind: 'taken', utterance: begun.held[0]! }, ['head delivered']],
    ['a touch changes nothing', { kind: 'touch' }, ['push', 'head delivered']],
  ])('%s', (_, event, held) => {
    const state = stepStandby(begun, event, 60 * MINUTE);
    expect(state).toMatchObject({ kind: 'begun', by: 'voice' });
    expect(wordsOf(state)).toEqual(held);
  });

  test('where it cannot be made it stands by again, with what it heard', () => {
    const state = stepStandby(begun, { kind: 'refused' }, 9000);
    expect(state.kind).toBe('standing-by');
    expect(wordsOf(state)).toEqual(['push', 'head delivered']);
    expect(stepStandby(state, { kind: 'touch' }, 9000)).toMatchObject({ kind: 'begun', by: 'touch' });
  });
});

test('what was held stands in the record with its own times, in its order', () => {
  const state = hear(hear(STANDING_BY, 'mcroberts on', 0), 'head delivered', 20_000);
  let events = file.events.slice();
  let n = 0;
  for (const utterance of state.held) {
    const view = foldRecord({ ...file, events });
    const { bodies } = takeIn(utterance, view, vocabulary, () => `id${n++}`);
    for (const body of bodies) {
      events = [
        ...events,
        {
          ...body,
          seq: events.length,
          by: { kind: 'voice' },
          madeAtMs: 21_000,
          madeAt: '',
          previousHash: '',
          hash: '',
        },
      ];
    }
  }
  const { entries } = foldRecord({ ...file, events });
  expect(entries.map(({ entry, atMs }) => [entry.code, atMs])).toEqual([
    ['mcroberts', 0],
    ['head-delivered', 20_000],
  ]);
});
