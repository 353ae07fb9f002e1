import { expect, it } from 'vitest';
import { median, poisson, quantile, wilson } from '../../src/lab/statistics.ts';

it('gives quantiles by linear interpolation', () => {
  expect(median([3, 1, 2])).toBe(2);
  expect(quantile([0, 10], 0.95)).toBeCloseTo(9.5);
  expect(median([])).toBeNaN();
});

it('gives the interval of a proportion (Newcombe 1998, Stat Med 17:857–872, table I, method 3)', () => {
  expect(wilson(81, 263).low).toBeCloseTo(0.2553, 4);
  expect(wilson(81, 263).high).toBeCloseTo(0.3662, 4);
  expect(wilson(0, 20)).toMatchObject({ low: 0 });
  expect(wilson(0, 20).high).toBeCloseTo(0.1611, 4);
});

it('gives the exact interval of a count (Garwood 1936; tables of the Poisson distribution)', () => {
  expect(poisson(0).low).toBe(0);
  expect(poisson(0).high).toBeCloseTo(3.689, 3);
  expect(poisson(5).low).toBeCloseTo(1.623, 3);
  expect(poisson(5).high).toBeCloseTo(11.668, 3);
});
