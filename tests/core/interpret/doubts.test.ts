import { describe, expect, it } from 'vitest';
import type { Doubt } from '../../../src/core/interpret/interpretation.ts';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { ALL_RIVALS, rivalsIn } from '../../../src/core/interpret/decide/rivals.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const meaning = (tuned: string, untouched: string, doubts?: Doubt[]) =>
  interpret(
    { tuned: { text: tuned }, untouched: { text: untouched }, ...(doubts ? { doubts } : {}) },
    { asking: false },
    vocabulary,
  );
const doubt = (
  at: number,
  kind: Doubt['kind'],
  rival: string,
  untouchedNats: number,
  tunedNats = 9,
): Doubt => ({
  at,
  kind,
  rival,
  untouchedNats,
  tunedNats,
});

describe('what else could have been said', () => {
  it('names the opposite of a side and the other body parts', () => {
    const [, instead] = rivalsIn(['head', 'left']).filter(({ kind }) => kind === 'instead');
    expect(instead).toEqual({ at: 1, kind: 'instead', words: ['right'] });
    expect(rivalsIn(['head'])[0]!.words).toContain('hand');
  });
  it('asks for a negation before every word, and never takes oh for zero', () => {
    expect(rivalsIn(['episiotomy'])[0]).toMatchObject({
      at: 0,
      kind: 'added',
      words: expect.arrayContaining(['no']),
    });
    expect(rivalsIn(['oh'])[0]!.words).not.toContain('zero');
  });
  it('asks for one more digit behind a digit', () => {
    expect(rivalsIn(['one']).at(-1)).toMatchObject({
      at: 1,
      kind: 'added',
      words: expect.arrayContaining(['one']),
    });
  });
  it('lists every rival once, for the recogniser to spell', () => {
    expect(new Set(ALL_RIVALS).size).toBe(ALL_RIVALS.length);
    for (const { words } of rivalsIn(['head', 'left', 'one', 'on']))
      for (const word of words) expect(ALL_RIVALS).toContain(word);
  });
});

describe('weighing the doubts', () => {
  it('takes a wording that leaves words over for no rival', () => {
    const near = [doubt(1, 'instead', 'axial', -1.91, 3.76)];
    expect(meaning('posterior axilla traction', 'posterior axial traction.', near)).toMatchObject({
      outcome: 'accept',
      entries: [{ code: 'posterior-axilla-traction' }],
    });
    // Alone it is what somebody could have said.
    const alone = [doubt(0, 'instead', 'axial', -1.91, 3.76)];
    expect(meaning('axilla traction', 'axial traction.', alone).outcome).toBe('ask');
    expect(
      meaning('axial traction', 'axilla traction.', [doubt(0, 'instead', 'axilla', -1.91, 3.76)]).outcome,
    ).toBe('ask');
  });
  it('accepts what the untouched decoder only spells in its own way', () => {
    expect(meaning('head delivered', 'Add delivered.', [])).toMatchObject({ outcome: 'accept' });
    expect(meaning('rubin two on', 'Ruby to long.', [])).toMatchObject({ outcome: 'accept' });
  });
  it.each([
    ['suprapubic pressure on', doubt(2, 'instead', 'off', -0.5), 'off', 'stop'],
    ['head out', doubt(0, 'instead', 'hand', -0.2), 'hand', 'internal-entry'],
    ['posterior arm out', doubt(0, 'instead', 'anterior', -1), 'anterior', 'unclear'],
  ])('asks where a rival is as near: %s', (said, near) => {
    expect(meaning(said, 'Something else entirely.', [near]).outcome).toBe('ask');
  });
  it('takes a phase that the other reading ran into the word before it, but no other phase', () => {
    expect(meaning('mcroberts on', 'McRobertson.', []).outcome).toBe('accept');
    expect(meaning('mcroberts on', 'McRobertson.').outcome).toBe('ask');
    expect(meaning('mcroberts on', 'McRobertson.', [doubt(1, 'dropped', '', -3, 0.2)]).outcome).toBe('ask');
    expect(meaning('mcroberts on', 'McRoberts off.', []).outcome).toBe('ask');
  });
  it('offers the rival as the other answer', () => {
    const asked = meaning('suprapubic pressure on', 'Super pubic pressure.', [
      doubt(2, 'instead', 'off', -0.5),
    ]);
    expect(asked).toMatchObject({
      outcome: 'ask',
      entries: [{ code: 'suprapubic-pressure', phase: 'start' }],
      alternatives: expect.arrayContaining([{ entries: [{ code: 'suprapubic-pressure', phase: 'stop' }] }]),
    });
  });
  it('asks where a negation may have been said', () => {
    expect(meaning('episiotomy', 'An easy otomy.', [doubt(0, 'added', 'no', 0.3)]).outcome).toBe('ask');
  });
  it('asks about a value where the other reading has no number at all, though no rival is near', () => {
    const other = 'Blood loss sits and with the leader.';
    expect(meaning('blood loss six hundred and fifty three', other, [])).toMatchObject({
      outcome: 'ask',
      entries: [{ code: 'blood-loss', millilitres: 653 }],
    });
    expect(meaning('blood loss six hundred', 'Blood loss 600', [])).toMatchObject({ outcome: 'accept' });
  });
  it('asks where a number is as near, in a value and in a spoken time', () => {
    expect(meaning('apgar nine at one', 'A card at one.', [doubt(1, 'instead', 'five', -0.4)]).outcome).toBe(
      'ask',
    );
    expect(
      meaning('mcroberts thirty seconds ago', 'My brothers seconds ago.', [doubt(1, 'instead', 'forty', -1)])
        .outcome,
    ).toBe('ask');
  });
  it('asks where the other reading wrote another number as long, whatever it was led to', () => {
    expect(meaning('weight three thousand six hundred and nineteen', 'Wait 3,690.', []).outcome).toBe('ask');
    expect(meaning('weight three thousand six hundred and nineteen', 'Wait 3,619.', []).outcome).toBe(
      'accept',
    );
  });
  it('does not ask for a rival that means the same', () => {
    expect(meaning('baby out', 'Buddy out.', [doubt(0, 'instead', 'body', -2)])).toMatchObject({
      outcome: 'accept',
      entries: [{ code: 'body-delivered' }],
    });
  });
  it('lets no doubt and no certainty turn talk into an entry', () => {
    expect(
      meaning('we might have to think about lunch', 'We might have to think about lunch.', []).outcome,
    ).toBe('unrecognised');
  });
});
