import { describe, expect, test } from 'vitest';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import type { Heard, InterpretContext } from '../../../src/core/interpret/interpretation.ts';
import { cutLoops } from '../../../src/core/interpret/words/loops.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const say = (text: string, context: Partial<InterpretContext> = {}) =>
  interpret({ tuned: { text } }, { asking: false, ...context }, vocabulary);
const hear = (heard: Heard) => interpret(heard, { asking: false }, vocabulary);

describe('context and certainty', () => {
  test.each([
    ['yes', 'confirm'],
    ['yeah', 'confirm'],
    ["that's right", 'confirm'],
    ['no', 'reject'],
    ["no that's wrong", 'reject'],
  ])('"%s" answers only while something is asked', (text, code) => {
    expect(say(text).outcome).toBe('unrecognised');
    expect(say(text, { asking: true })).toMatchObject({ outcome: 'command', entries: [], command: { code } });
  });

  test('a call-out while something is asked is a call-out', () => {
    expect(say('head out', { asking: true }).entries).toEqual([{ code: 'head-delivered' }]);
    expect(say('no episiotomy', { asking: true }).entries).toEqual([
      { code: 'episiotomy', decision: 'not-needed' },
    ]);
  });

  test.each(['nothing', "well that's no good", "hmm that didn't work"])(
    '"%s" is asked about while no manoeuvre stands in the record',
    (text) => {
      const noEffect = [{ code: 'no-effect' }];
      expect(say(text, { tried: false })).toMatchObject({ outcome: 'ask', entries: noEffect });
      expect(say(text, { tried: true })).toMatchObject({ outcome: 'accept', entries: noEffect });
      expect(say(text)).toMatchObject({ outcome: 'accept', entries: noEffect });
    },
  );

  test('words that only a birth has are not asked about for that', () => {
    expect(say('no effect', { tried: false }).outcome).toBe('accept');
    expect(say('shoulders still stuck', { tried: false }).outcome).toBe('accept');
    expect(say('head out', { tried: false }).outcome).toBe('accept');
  });

  test('"no, the left" replaces the side of the last entry', () => {
    const last = { code: 'suprapubic-pressure', phase: 'start', side: 'right' } as const;
    expect(say('no, the left', { last })).toMatchObject({
      outcome: 'command',
      command: { code: 'correct' },
      entries: [{ ...last, side: 'left' }],
    });
    expect(
      say('no the right', { last: { code: 'arm-movement', state: 'absent', babySide: 'left' } }).entries,
    ).toEqual([{ code: 'arm-movement', state: 'absent', babySide: 'right' }]);
    expect(say('no the left', { last: { code: 'head-delivered' } }).entries).toEqual([]);
  });

  test('low log-probability asks, very low logs nothing', () => {
    const at = (value: number) =>
      hear({ tuned: { text: 'head out', logProbabilities: [value, value, value] } });
    expect(at(-0.1).outcome).toBe('accept');
    expect(at(-0.8).outcome).toBe('ask');
    expect(at(-2).outcome).toBe('unrecognised');
    expect(at(-0.1).confidence).toBeGreaterThan(at(-0.4).confidence);
  });

  test('more words than the time allows log nothing', () => {
    const text = Array.from({ length: 30 }, (_, index) => (index % 2 ? 'mcroberts' : 'head out')).join(' ');
    expect(hear({ tuned: { text }, speechMs: 900 }).outcome).toBe('unrecognised');
  });

  test('loops are cut before readings are compared', () => {
    expect(cutLoops('call for help call for help call for help call for help call for help')).toEqual({
      text: 'call for help',
      looped: true,
    });
    expect(cutLoops('push push push')).toEqual({ text: 'push push push', looped: false });
    expect(cutLoops('two two two two call').looped).toBe(false);
    const untouched = { text: Array(12).fill('Shoulder dystocia.').join(' ') };
    expect(hear({ tuned: { text: 'shoulder dystocia' }, untouched }).outcome).toBe('accept');
  });
});

describe('a second amount of blood', () => {
  test('of which nobody says whether it is all or more is asked, with both answers', () => {
    const meaning = say('blood loss three hundred', { measuredLoss: true });
    expect(meaning).toMatchObject({ outcome: 'ask', problem: 'basis-missing' });
    expect('alternatives' in meaning && meaning.alternatives).toEqual([
      { entries: [{ code: 'blood-loss', millilitres: 300, basis: 'total' }] },
      { entries: [{ code: 'blood-loss', millilitres: 300, basis: 'further' }] },
    ]);
  });
  test('with its basis said, or as the first amount, is logged', () => {
    expect(say('another three hundred mils blood loss', { measuredLoss: true }).outcome).toBe('accept');
    expect(say('total blood loss nine hundred', { measuredLoss: true }).outcome).toBe('accept');
    expect(say('blood loss three hundred').outcome).toBe('accept');
  });
});

describe('one sound apart, and it matters most', () => {
  const CODES = {
    'baby out': 'body-delivered',
    'arm out': 'posterior-arm',
    'head out': 'head-delivered',
    'hand out': 'internal-entry',
    'hand in': 'internal-entry',
  };
  for (const [text, code] of Object.entries(CODES)) {
    for (const frame of ['%', 'the %', 'okay %', '% now', 'and %', '% thirty seconds ago']) {
      const said = frame.replace('%', text);
      // Which arm is not said, so that is asked.
      const outcome = text === 'arm out' ? 'ask' : 'accept';
      test(`"${said}" is ${code}`, () => expect(say(said)).toMatchObject({ outcome, entries: [{ code }] }));
    }
    for (const other of Object.keys(CODES)) {
      if (other === text) continue;
      test(`"${text}" against "${other}" is asked`, () =>
        expect(hear({ tuned: { text }, untouched: { text: other } }).outcome).toBe('ask'));
    }
  }
  test('"head in" is no hand in', () => {
    expect(say('head in').entries).toEqual([]);
    expect(hear({ tuned: { text: 'hand in' }, untouched: { text: 'Head in.' } }).outcome).toBe('ask');
  });
});
