import { describe, expect, it } from 'vitest';
import { loopStart, tokenBound } from '../../src/asr/guards.ts';

describe('loopStart', () => {
  it.each([
    ['one token five times', [7, 3, 3, 3, 3, 3], 2],
    ['two tokens four times', [9, 1, 2, 1, 2, 1, 2, 1, 2], 3],
    ['three tokens three times', [1, 2, 3, 1, 2, 3, 1, 2, 3], 3],
    ['a sentence twice', [1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5, 6], 6],
  ])('cuts %s to the first round', (_what, ids, length) => expect(loopStart(ids)).toBe(length));

  it.each([
    ['push, push, push', [5, 5, 5]],
    ['seven point one one', [7, 8, 1, 1]],
    ['stop pushing, stop pushing', [4, 5, 4, 5]],
    ['nothing', []],
  ])('leaves what people say: %s', (_what, ids) => expect(loopStart(ids)).toBeNull());
});

it('lets longer speech give more tokens', () => {
  expect(tokenBound(3000)).toBeGreaterThan(tokenBound(500));
  expect(tokenBound(0)).toBeGreaterThan(0);
});
