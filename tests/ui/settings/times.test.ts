import { describe, expect, it } from 'vitest';
import { minutesSeconds } from '../../../src/core/facts/logged.ts';
import { roomMinusDevice } from '../../../src/ui/settings/room-clock.ts';
import { passedMark, readMinutesSeconds } from '../../../src/ui/settings/time-marks.ts';

it.each([
  [0, '0:00'],
  [7, '0:07'],
  [724, '12:04'],
  [3_723, '1:02:03'],
  [-12, '−0:12'],
  [-0.4, '0:00'],
])('%d s reads %s', (seconds, words) => expect(minutesSeconds(seconds)).toBe(words));

describe('the room’s clock', () => {
  const device = new Date(2026, 2, 5, 14, 2, 10);
  it.each([
    ['14:02:10', 0],
    ['14:03:55', 105_000],
    ['13:58:00', -250_000],
    ['14:02', 20_000],
    ['14.02', 20_000],
    ['noon', null],
    ['25:00', null],
  ])('%s', (shown, difference) => expect(roomMinusDevice(shown, device)).toBe(difference));

  it('takes the short way round midnight', () => {
    expect(roomMinusDevice('23:59:50', new Date(2026, 2, 5, 0, 0, 10))).toBe(-20_000);
    expect(roomMinusDevice('00:00:10', new Date(2026, 2, 5, 23, 59, 50))).toBe(20_000);
  });
});

describe('marks on the running clock', () => {
  it.each([
    ['4:00', 240],
    ['0:30', 30],
    ['90', 90],
    ['4:75', null],
    ['four', null],
  ])('%s', (typed, seconds) => expect(readMinutesSeconds(typed)).toBe(seconds));

  const marks = [
    { afterSeconds: 240, label: 'second' },
    { afterSeconds: 60, label: 'first' },
  ];
  it('names the newest that was passed, and none where they are off', () => {
    expect(passedMark({ shown: true, marks }, 59)).toBeNull();
    expect(passedMark({ shown: true, marks }, 60)).toBe('first');
    expect(passedMark({ shown: true, marks }, 300)).toBe('second');
    expect(passedMark({ shown: true, marks }, null)).toBeNull();
    expect(passedMark({ shown: false, marks }, 300)).toBeNull();
  });
});
