import { describe, expect, test } from 'vitest';
import { errorScale, levels, signedRoot, timeScale, timeTicks } from '../../../src/ui/practice/plot-scale.ts';

describe('error scale', () => {
  test('the root keeps the sign: 9 s is three times as far as 1 s, 4 s early twice to the left', () => {
    expect([0, 1, 9, -4].map(signedRoot)).toEqual([0, 1, 3, -2]);
  });

  test('holds every error and every published figure between its ends', () => {
    const { x, ticks } = errorScale([1, -12, 3], [37.3, 77], 100, 900);
    for (const seconds of [1, -12, 3, 37.3, 77, 0]) {
      expect(x(seconds)).toBeGreaterThanOrEqual(100);
      expect(x(seconds)).toBeLessThanOrEqual(900);
    }
    expect(x(-1)).toBeLessThan(x(0));
    expect(ticks).toEqual([-10, -5, -1, 0, 1, 5, 10, 30, 60]);
  });

  test('shows five seconds to both sides of nothing', () => {
    expect(errorScale([], [], 0, 100).ticks).toEqual([-5, -1, 0, 1, 5]);
  });
});

describe('time axis', () => {
  test('150 s get ticks of 15 s, from the first moment', () => {
    expect(timeTicks(4_000, 154_000).map((ms) => (ms - 4_000) / 1000)).toEqual([
      0, 15, 30, 45, 60, 75, 90, 105, 120, 135, 150,
    ]);
  });

  test('the ends of the time lie at the ends of the plot, a single moment at the left', () => {
    const x = timeScale(1000, 3000, 20, 120);
    expect([x(1000), x(2000), x(3000)]).toEqual([20, 70, 120]);
    expect(timeScale(1000, 1000, 20, 120)(1000)).toBe(20);
  });
});

describe('levels of labels', () => {
  test('labels that are too close go one level further', () => {
    expect(levels([0, 10, 30, 35, 60], 18, 3)).toEqual([0, 1, 0, 1, 0]);
  });

  test('where all levels are taken, the one with the most room is used', () => {
    expect(levels([0, 1, 2], 18, 2)).toEqual([0, 1, 0]);
  });
});
