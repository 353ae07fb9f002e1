import { describe, expect, it } from 'vitest';
import { interpretListened } from '../../../src/core/interpret/decide/listen-again.ts';
import type { Doubt, Heard } from '../../../src/core/interpret/interpretation.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const sure = (text: string, doubts: readonly Doubt[] = [], untouched = text): Heard => ({
  tuned: { text, logProbabilities: [-0.02] },
  untouched: { text: untouched, logProbabilities: [-0.1] },
  doubts,
  speechMs: 1500,
});
const meaningOf = (heard: Heard) => interpretListened(heard, [], { asking: false }, vocabulary).meaning;
const instead = (at: number, rival: string, tunedNats: number, untouchedNats: number): Doubt => ({
  at,
  kind: 'instead',
  rival,
  tunedNats,
  untouchedNats,
});

describe('opposites that sound alike', () => {
  it('asks where both decoders write "stop pushing" and the sound hardly tells it from "start"', () => {
    const meaning = meaningOf(sure('stop pushing now', [instead(0, 'start', 0.3, -1.4)]));
    expect(meaning.outcome).toBe('ask');
    expect(meaning.entries).toEqual([{ code: 'stop-pushing' }]);
    expect('alternatives' in meaning && meaning.alternatives).toEqual([{ entries: [{ code: 'push' }] }]);
  });

  it('logs it where the sound tells it apart', () => {
    expect(meaningOf(sure('stop pushing now', [instead(0, 'start', 3.1, 4.2)])).outcome).toBe('accept');
  });

  it.each(['mcroberts and successful', 'all fours on successful', 'woods screw an successful'])(
    'takes "%s" for no way to speak and offers what it was heard for',
    (text) => {
      const meaning = meaningOf(sure(text));
      expect(meaning.outcome).toBe('ask');
      expect(JSON.stringify(meaning)).toContain('"phase":"failed"');
    },
  );

  it('asks where the other decoder alone heard "on successful"', () => {
    const heard = sure('mcroberts successful', [], 'McRoberts on successful.');
    expect(meaningOf(heard).outcome).toBe('ask');
    expect(meaningOf(sure('mcroberts successful')).outcome).toBe('accept');
  });

  it('asks about a hand that is in and out at once', () => {
    expect(meaningOf(sure('hand in out now')).outcome).not.toBe('accept');
  });

  it('asks between fifteen and fifty', () => {
    const text = 'blood loss eight hundred and fifteen mils';
    expect(meaningOf(sure(text, [instead(5, 'fifty', 2.3, 2.4)])).outcome).toBe('ask');
    expect(meaningOf(sure(text, [instead(5, 'fifty', 4, 4.4)])).outcome).toBe('accept');
  });

  it('asks for the time where the other decoder heard another number', () => {
    const text = 'mcroberts thirty three minutes ago';
    expect(meaningOf(sure(text, [], 'McRoberts started 3 minutes ago.')).outcome).toBe('ask');
    expect(meaningOf(sure(text, [], 'McRoberts 33 minutes ago.')).outcome).toBe('accept');
  });
});
