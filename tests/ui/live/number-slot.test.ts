import { expect, it } from 'vitest';
import { readNumber } from '../../../src/ui/live/number-slot.ts';

// Ranges: the project's own limits against slips (vocabulary/ranges.json).
it.each([
  ['7.18', [6.5, 7.8], false, { kind: 'ok', value: 7.18 }],
  ['7,18', [6.5, 7.8], false, { kind: 'ok', value: 7.18 }],
  ['71.8', [6.5, 7.8], false, { kind: 'out-of-range' }],
  ['6.5', [-40, 20], true, { kind: 'sign-missing' }],
  ['-6.5', [-40, 20], true, { kind: 'ok', value: -6.5 }],
  ['−6.5', [-40, 20], true, { kind: 'ok', value: -6.5 }],
  ['0', [-40, 20], true, { kind: 'ok', value: 0 }],
  ['', [0, 30], false, { kind: 'empty' }],
  ['7.1.8', [6.5, 7.8], false, { kind: 'not-a-number' }],
  ['1e3', [0, 10000], false, { kind: 'not-a-number' }],
] as const)('%s', (typed, range, signed, read) => {
  expect(readNumber(typed, [...range], signed)).toEqual(read);
});
