import { expect, it } from 'vitest';
import type { Heard } from '../../../src/core/interpret/interpretation.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { takeIn, worthAgain } from '../../../src/core/dialogue/take-in.ts';
import { heardText } from '../../../src/core/note/lines.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { at, MadeRecord } from './make-record.ts';

const vocabulary = loadVocabulary();
const readings = (tuned: string, untouched = tuned): Heard => ({
  tuned: { text: tuned },
  untouched: { text: untouched },
});
const UNSURE = readings('suprapubic pressure from the right', 'suprapubic pressure from the left');
const SURE = readings('suprapubic pressure from the right', 'Suprapubic pressure from the right.');
/** Clear, but less sure. */
const WEAK: Heard = { ...SURE, tuned: { ...SURE.tuned, logProbabilities: [-0.8, -0.8, -0.8, -0.8, -0.8] } };

function recordOf(heard: Heard, ...again: Heard[]): MadeRecord {
  const made = new MadeRecord();
  const utterance = { onsetMs: at(1), endMs: at(1, 2), heard, again };
  const { bodies } = takeIn(utterance, made.view, vocabulary, () => made.newId());
  return made.append({ kind: 'voice' }, at(1, 3), ...bodies);
}

it('only what is unsure or weak is worth listening to again', () => {
  const worth = (heard: Heard, ...again: Heard[]) =>
    worthAgain({ onsetMs: 0, endMs: 900, heard, again }, new MadeRecord().view, vocabulary);
  expect(worth(UNSURE)).toBe(true);
  expect(worth(readings('preparing the mail'))).toBe(true);
  expect(worth(SURE)).toBe(false);
  expect(worth(readings('undo'))).toBe(false);
  expect(worth(UNSURE, UNSURE)).toBe(true);
  expect(worth(UNSURE, SURE)).toBe(false);
  expect(worth(WEAK)).toBe(true);
  expect(worth(WEAK, SURE)).toBe(false);
});

it('the record keeps the readings that the entry comes from, and that the sound was heard twice', () => {
  const made = recordOf(UNSURE, SURE);
  const { utterances, entries } = made.view;
  expect(entries).toHaveLength(1);
  expect(utterances[0]).toMatchObject({
    heard: SURE.tuned.text,
    heardSecond: SURE.untouched!.text,
    secondListening: 'confirmed',
    outcome: 'accept',
  });
  expect(heardText(made.view, utterances[0]!)).toContain('confirmed by listening again at another speed');
});

it('says nothing of a second listening that gave nothing', () => {
  const made = recordOf(UNSURE, readings('the mail'));
  expect(made.view.utterances[0]).toMatchObject({ heard: UNSURE.tuned.text, outcome: 'ask' });
  expect(made.view.utterances[0]).not.toHaveProperty('secondListening');
  expect(made.file.events.at(-2)).not.toHaveProperty('secondListening');
});

it.each([
  ['confirmed', UNSURE, [SURE]],
  ['found', readings('preparing the mail'), [SURE]],
  ['alternative', UNSURE, [readings('head out')]],
  ['doubted', WEAK, [readings('the mail'), readings('the mail')]],
])('a record with one that %s goes out and comes in unchanged', (secondListening, first, again) => {
  const { file } = recordOf(first, ...again);
  expect(foldRecord(file).utterances[0]).toMatchObject({ secondListening });
  expect(importRecord(exportRecord(file))).toEqual({ kind: 'ok', file });
});

it('another word in its place is refused', () => {
  const { file } = recordOf(UNSURE, SURE);
  const text = exportRecord(file).replace('"confirmed"', '"guessed"');
  expect(importRecord(text).kind).toBe('refused');
});
