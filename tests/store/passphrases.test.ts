import { expect, test } from 'vitest';
import { passphraseStrength, SHORTEST_PASSPHRASE } from '../../src/store/passphrase-strength.ts';
import { LONGEST_WAIT_MS, waitAfterMs, WrongTries } from '../../src/store/wrong-tries.ts';

test.each(['password1', 'Passw0rd!', 'qwertyuiop', '12345678', 'utterlog1', 'abcabcabc', 'midwife2024'])(
  '"%s" is refused as weak',
  async (passphrase) => {
    expect((await passphraseStrength(passphrase)).kind).toBe('weak');
  },
);

test.each(['four words said once', 'correct horse battery staple', 'gravel lantern oboe thirteen'])(
  '"%s" is taken',
  async (passphrase) => {
    expect((await passphraseStrength(passphrase)).kind).toBe('strong');
  },
);

test('a short one is named as short before anything else', async () => {
  expect(await passphraseStrength('7 chars')).toEqual({ kind: 'too-short', shortest: SHORTEST_PASSPHRASE });
});

test('an endless one is judged at once', async () => {
  const from = performance.now();
  expect((await passphraseStrength('lantern oboe gravel '.repeat(5000))).kind).toBe('strong');
  expect(performance.now() - from).toBeLessThan(2_000);
});

test('wrong tries wait longer each time, 30 s at most, and never lock out', () => {
  expect([1, 2, 3, 4, 5, 6, 7, 8, 9, 1000].map(waitAfterMs)).toEqual([
    0,
    0,
    1_000,
    2_000,
    4_000,
    8_000,
    16_000,
    LONGEST_WAIT_MS,
    LONGEST_WAIT_MS,
    LONGEST_WAIT_MS,
  ]);
  const tries = new WrongTries();
  for (let at = 0; at < 50; at++) tries.wrong('a', 0);
  expect(tries.waitMs('a', 0)).toBe(30_000);
  expect(tries.waitMs('a', 30_000)).toBe(0);
  expect(tries.waitMs('b', 0)).toBe(0);
  tries.right('a');
  tries.wrong('a', 40_000);
  expect(tries.waitMs('a', 40_000)).toBe(0);
});
