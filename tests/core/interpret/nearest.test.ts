import { describe, expect, test } from 'vitest';
import { nearestIsTuned, rivalWordings } from '../../../src/core/interpret/words/nearest.ts';
import { normalise } from '../../../src/core/interpret/words/normalise.ts';
import { WORDS } from '../../../src/core/vocabulary/words.ts';

/** Pairs of readings as both decoders wrote them for synthetic voices (models/reports); no published source. */
const near = (tuned: string, untouched: string, otherwise: (text: string) => boolean = () => true): boolean =>
  nearestIsTuned(normalise(tuned, WORDS), normalise(untouched, WORDS), otherwise);

describe('an untouched reading that spells the same sound in its own way', () => {
  test.each([
    ['head delivered', 'had delivered.'],
    ['baby out', 'Maybe out'],
    ['posterior arm out', 'Post to re-or-am-out'],
    ['placenta out', 'plus enter out.'],
  ])('%s | %s agrees', (tuned, untouched) => expect(near(tuned, untouched)).toBe(true));

  test.each([
    ['another word of the set, plainly', 'hand in', 'Head in.'],
    ['the opposite', 'woods screw anticlockwise', 'Wood screw in a clockwise.'],
    ['nearer to the rival', 'head delivered', 'arm delivered'],
    ['far from everything', 'hand in now', 'happy mode'],
    ['another number', 'weight three thousand', 'weight 4000'],
    ['a negation in one alone', 'no episiotomy', 'Now, episiotomy'],
    ['a lettered grade', 'three b tear', '3B deal'],
  ])('%s does not: %s | %s', (_why, tuned, untouched) => expect(near(tuned, untouched)).toBe(false));

  test('rivals that mean nothing else do not count', () => {
    expect(near('head is born', 'the arm is bone', () => true)).toBe(false);
    expect(near("can't reach the posterior arm", "Can't reach the poster or ram.", () => false)).toBe(true);
  });
});

test('rivals exchange one word, leave one out or put one in', () => {
  expect(rivalWordings(['reverse', 'woods', 'screw'])).toContainEqual(['woods', 'screw']);
  expect(rivalWordings(['woods', 'screw'])).toContainEqual(['reverse', 'woods', 'screw']);
  expect(rivalWordings(['pressure', 'off'])).toContainEqual(['pressure', 'on']);
});
