import { expect, test } from 'vitest';
import { ClockCompare, PARTED_MS } from '../../src/app/clock-compare.ts';
import { continuedSpan } from '../../src/app/record-clock.ts';

test('clocks that go on together say nothing, small corrections neither', () => {
  const clocks = new ClockCompare(1_000_000, 0);
  expect(clocks.parted(1_060_000, 60_000)).toBeNull();
  expect(clocks.parted(1_120_000 + PARTED_MS - 1, 120_000)).toBeNull();
});

test('a device that slept for 20 minutes is told once, with the moment before it', () => {
  const clocks = new ClockCompare(1_000_000, 0);
  clocks.parted(1_060_000, 60_000);
  expect(clocks.parted(1_062_000 + 1_200_000, 62_000)).toEqual({
    sincePerformanceMs: 60_000,
    byMs: 1_200_000,
  });
  expect(clocks.parted(1_064_000 + 1_200_000, 64_000)).toBeNull();
});

test('a clock that was set back is told too', () => {
  expect(new ClockCompare(1_000_000, 0).parted(400_000, 0)?.byMs).toBe(-600_000);
});

test('a restart after a sleep counts from the last moment of the log: the sleep is not counted again', () => {
  const spans = [{ spanId: 0, startMs: 0, wallMs: 1_000_000 }];
  // At record time 60 s the device's clock read 20 minutes more than the record's.
  const last = { atMs: 60_000, wallMs: 1_000_000 + 60_000 + 1_200_000 };
  expect(continuedSpan(spans, last, last.wallMs + 5_000)).toEqual({
    spanId: 1,
    startMs: 65_000,
    wallMs: last.wallMs + 5_000,
  });
  expect(continuedSpan(spans, last, last.wallMs - 9_000).startMs).toBe(60_000);
});
