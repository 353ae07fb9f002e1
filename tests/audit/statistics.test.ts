import { describe, expect, it } from 'vitest';
import { differenceOfShares, wilson } from '../../src/audit/proportions.ts';
import {
  controlChart,
  halfBinomialAtMost,
  halfBinomialQuantile,
  medianInterval,
  medianRanks,
  quartiles,
  runChart,
  shiftBetween,
} from '../../src/audit/statistics.ts';

describe('shares', () => {
  // Newcombe 1998, "Two-sided confidence intervals for the single proportion", Stat Med 17:857–872, table I,
  // method 3 (Wilson without continuity correction); printed to four places (from memory).
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])('%i of %i', (hits, of, low, high) => {
    const found = wilson(hits, of);
    expect(found.low).toBeCloseTo(low, 4);
    expect(found.high).toBeCloseTo(high, 4);
  });

  // Newcombe 1998, "Interval estimation for the difference between independent proportions", Stat Med 17:873–890,
  // table II, method 10, examples a, b and e (from memory); there first minus second.
  it.each([
    [56, 70, 48, 80, 0.0524, 0.3339],
    [9, 10, 3, 10, 0.1705, 0.809],
    [5, 56, 0, 29, -0.0381, 0.1926],
  ])('%i/%i against %i/%i', (a, m, b, n, low, high) => {
    const found = differenceOfShares({ hits: b, of: n }, { hits: a, of: m });
    expect(found.difference).toBeCloseTo(a / m - b / n, 10);
    expect(found.low).toBeCloseTo(low, 4);
    expect(found.high).toBeCloseTo(high, 4);
  });
});

describe('median', () => {
  // Hyndman and Fan 1996, definition 7: position 1 + (n − 1) p.
  it('and quartiles by interpolation', () => {
    expect(quartiles([1, 2, 3, 4, 5, 6, 7, 8, 9, 10])).toEqual({ n: 10, q1: 3.25, median: 5.5, q3: 7.75 });
    expect(quartiles([])).toBeNull();
  });

  // Altman, Machin, Bryant, Gardner 2000, Statistics with Confidence, 2nd edition, table 18.4: ranks for the
  // median and exact confidence (from memory).
  it.each([
    [6, 1, 6, 0.969],
    [8, 1, 8, 0.992],
    [9, 2, 8, 0.961],
    [10, 2, 9, 0.979],
    [15, 4, 12, 0.965],
    [20, 6, 15, 0.959],
    [25, 8, 18, 0.957],
    [30, 10, 21, 0.957],
  ])('of %i values: ranks %i and %i', (n, low, high, confidence) => {
    expect(medianRanks(n)).toEqual({ low, high });
    expect(1 - 2 * halfBinomialAtMost(low - 1, n)).toBeCloseTo(confidence, 3);
  });

  // Campbell and Gardner 1988, BMJ 296:1454–1456: of 100 values the 40th and the 61st.
  it('of 100 values: ranks 40 and 61', () => {
    expect(medianRanks(100)).toEqual({ low: 40, high: 61 });
  });

  it('has no interval of five values', () => {
    expect(medianRanks(5)).toBeNull();
    expect(medianInterval([1, 2, 3, 4, 5])).toBeNull();
  });

  // Campbell and Gardner 1988 (and Statistics with Confidence, chapter 5): globulin fraction of plasma, g/l, two
  // groups of ten; median difference −5.5, K = 24, 95 % interval −10 to 1 (from memory); there first minus second.
  it('differs between two groups', () => {
    const first = [38, 26, 29, 41, 36, 31, 32, 30, 35, 33];
    const second = [45, 28, 27, 38, 40, 42, 39, 39, 34, 45];
    expect(shiftBetween(second, first)).toEqual({ shift: -5.5, low: -10, high: 1 });
  });

  it('counts differences as a list of all of them would', () => {
    const first = Array.from({ length: 31 }, (_, at) => (at * 37) % 101);
    const second = Array.from({ length: 24 }, (_, at) => (at * 53) % 97);
    const all = first.flatMap((x) => second.map((y) => y - x)).sort((a, b) => a - b);
    const rank = Math.ceil(all.length / 2 - 1.959964 * Math.sqrt((all.length * (31 + 24 + 1)) / 12));
    const found = shiftBetween(first, second)!;
    expect(found.low).toBe(all[rank - 1]);
    expect(found.high).toBe(all[all.length - rank]);
    expect(found.shift).toBe((all[all.length / 2 - 1]! + all[all.length / 2]!) / 2);
  });
});

describe('run chart', () => {
  // Anhøj and Olesen 2014, table 1 of limits (from memory): useful points, longest run, fewest crossings.
  it.each([
    [10, 6, 2],
    [12, 7, 3],
    [16, 7, 4],
    [20, 7, 6],
    [23, 8, 7],
    [24, 8, 8],
    [30, 8, 10],
  ])('%i points: a run of %i, %i crossings', (n, run, crossings) => {
    expect(Math.round(Math.log2(n) + 3)).toBe(run);
    expect(halfBinomialQuantile(0.05, n - 1)).toBe(crossings);
    if (n % 2 === 1) return;
    const found = runChart(Array.from({ length: n }, (_, at) => (at % 2) + at / 1000))!;
    expect([found.longestRunLimit, found.crossingsLimit]).toEqual([run, crossings]);
  });

  it('sees a shift and a zigzag for what they are', () => {
    const shift = runChart([1, 2, 1, 2, 1, 2, 1, 2, 1, 2, 8, 9, 8, 9, 8, 9, 8, 9, 8, 9])!;
    expect(shift).toMatchObject({ median: 5, useful: 20, longestRun: 10, crossings: 1 });
    expect(shift.longestRun > shift.longestRunLimit && shift.crossings < shift.crossingsLimit).toBe(true);
    const zigzag = runChart([1, 9, 1, 9, 1, 9, 1, 9, 1, 9])!;
    expect(zigzag).toMatchObject({ median: 5, longestRun: 1, crossings: 9 });
  });

  it('leaves out points on the median and says nothing of few', () => {
    expect(runChart([5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 1, 9])).toBeNull();
    expect(runChart([1, 2, 3])).toBeNull();
    expect(runChart([])).toBeNull();
  });
});

describe('control chart', () => {
  // Montgomery 2013, Introduction to Statistical Quality Control, 7th edition, example 6.5: cost of processing
  // mortgage loans, 20 weeks; mean 300.5, mean range 7.79, limits 279.78 and 321.22, range limit 25.45 (from memory).
  it('of loan costs', () => {
    const costs = [
      310, 288, 297, 298, 307, 303, 294, 297, 308, 306, 294, 299, 297, 299, 314, 295, 293, 306, 301, 304,
    ];
    const found = controlChart(costs)!;
    expect(found.mean).toBeCloseTo(300.5, 6);
    expect(found.meanRange).toBeCloseTo(7.79, 2);
    expect(found.low).toBeCloseTo(279.78, 1);
    expect(found.high).toBeCloseTo(321.22, 1);
    expect(found.rangeLimit).toBeCloseTo(25.45, 1);
    expect(found.outside).toEqual([]);
    expect(controlChart([...costs, 340])!.outside).toEqual([20]);
  });

  it('gives no limits from few points', () => {
    expect(controlChart([1, 2, 3])).toBeNull();
  });
});
