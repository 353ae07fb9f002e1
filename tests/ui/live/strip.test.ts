import { describe, expect, it } from 'vitest';
import { shownNow } from '../../../src/core/dialogue/shown.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { stripText } from '../../../src/ui/live/strip-text.ts';
import { entry, utterance, viewOf } from './record.ts';

const question = (questionId: string, utteranceId: string): EventBody => ({
  kind: 'question',
  questionId,
  utteranceId,
  entries: [{ code: 'suprapubic-pressure', phase: 'start' }],
  problem: 'side-missing',
  atMs: 7000,
  timing: 'heard',
});

const vocabulary = loadVocabulary();
function shown(bodies: EventBody[]) {
  const view = viewOf(bodies);
  return stripText(shownNow(view, 0), view, vocabulary);
}

describe('the confirmation strip', () => {
  it('is quiet before the first call-out', () => {
    expect(shown([])).toMatchObject({ form: 'quiet' });
  });

  it('shows the newest entry with its time by the clock', () => {
    const told = shown([utterance('u1', 'accept'), entry('e1', 'head-delivered', 'u1')]);
    expect(told).toEqual({ form: 'filled', what: 'Head delivered', how: 'Logged 14:00' });
  });

  it('shows both call-outs of one breath', () => {
    const told = shown([
      utterance('u1', 'accept'),
      entry('e1', 'head-delivered', 'u1'),
      entry('e2', 'help-called', 'u1'),
    ]);
    expect(told.what).toBe('Head delivered + Help called');
  });

  it('keeps the last entry while other talk is not understood, and says nothing beside it', () => {
    const told = shown([
      utterance('u1', 'accept'),
      entry('e1', 'mcroberts', 'u1'),
      utterance('u2', 'unrecognised', 'where is the trolley'),
    ]);
    expect(told).toMatchObject({ form: 'filled', what: 'McRoberts', how: 'Logged 14:00' });
  });

  it('asks, and says what was turned down', () => {
    const before = [utterance('u1', 'accept'), entry('e1', 'mcroberts', 'u1'), utterance('u2', 'ask')];
    expect(shown([...before, question('q1', 'u2')])).toMatchObject({
      form: 'outlined',
      what: 'Suprapubic started',
      how: 'Left or right?',
    });
    expect(shown([...before, question('q1', 'u2'), { kind: 'reject', questionId: 'q1' }])).toMatchObject({
      form: 'quiet',
      what: 'Suprapubic started',
      how: 'Withdrawn',
      struck: true,
    });
  });

  it('shows an answered question as logged', () => {
    const told = shown([
      utterance('u2', 'ask'),
      question('q1', 'u2'),
      {
        kind: 'confirm',
        questionId: 'q1',
        entryIds: ['e9'],
        entries: [{ code: 'suprapubic-pressure', phase: 'start', side: 'left' }],
      },
    ]);
    expect(told).toMatchObject({ form: 'filled', what: 'Suprapubic left started' });
  });

  it('strikes through what was undone', () => {
    const told = shown([
      utterance('u1', 'accept'),
      entry('e1', 'mcroberts', 'u1'),
      { kind: 'strike', entryId: 'e1' },
    ]);
    expect(told).toMatchObject({ form: 'quiet', what: 'McRoberts', how: 'Struck out', struck: true });
  });

  it('answers "elapsed" for the moment at which it was asked', () => {
    const asked: EventBody = {
      kind: 'utterance',
      utteranceId: 'u3',
      onsetMs: 130_000,
      endMs: 131_000,
      heard: 'time',
      confidence: 1,
      outcome: 'command',
      command: { code: 'elapsed' },
    };
    expect(shown([entry('e1', 'head-delivered'), asked])).toMatchObject({
      form: 'quiet',
      what: 'Since Head delivered',
      how: '2:05',
    });
    expect(shown([asked])).toMatchObject({ what: 'Head delivered: not logged', how: '' });
  });
});
