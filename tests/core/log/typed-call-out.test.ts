import { expect, it } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { heardText, noteLines } from '../../../src/core/note/lines.ts';
import { takeIn } from '../../../src/core/dialogue/take-in.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { at, MadeRecord } from './make-record.ts';
import { tableOf } from '../note/tables-of.ts';

const vocabulary = loadVocabulary();

function recordOf(kind: 'voice' | 'helper', words: string): MadeRecord {
  const made = new MadeRecord();
  const utterance = { onsetMs: at(1), endMs: at(1), heard: { tuned: { text: words } } };
  const { bodies } = takeIn(utterance, made.view, vocabulary, () => made.newId());
  return made.append({ kind, ...(kind === 'helper' ? { name: 'Sam' } : {}) }, at(1, 1), ...bodies);
}

it('a typed call-out is told as typed: nothing was heard, and it has no sound', () => {
  const { view } = recordOf('helper', 'head delivered');
  expect(view.utterances[0]!.typedBy).toEqual({ kind: 'helper', name: 'Sam' });
  const told = heardText(view, view.utterances[0]!);
  expect(told).toMatch(/^call-out “head delivered” typed by .*Sam.* at \d\d:\d\d:\d\d/);
  expect(told).not.toMatch(/heard|reading|speech|confidence/);
  expect(noteLines(view, vocabulary)[0]!.provenance[0]).toBe(told);
});

it('its line of the table holds the words, and no second reading, speech or confidence', () => {
  const { file, view } = recordOf('helper', 'head delivered');
  const [row] = tableOf(buildNote(file, view, deriveFacts(view), loadVocabulary()), 'entries.csv');
  expect(row).toMatchObject({
    heard: 'head delivered',
    heard_second: '',
    speech_from: '',
    speech_to: '',
    confidence: '',
  });
});

it('a spoken one is told as heard', () => {
  const { view } = recordOf('voice', 'head delivered');
  expect(view.utterances[0]).not.toHaveProperty('typedBy');
  expect(heardText(view, view.utterances[0]!)).toMatch(/^heard “head delivered”.*speech from .*confidence/);
});
