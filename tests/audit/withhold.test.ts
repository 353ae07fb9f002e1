import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  band,
  FEWEST,
  partition,
  poolAround,
  poolMonths,
  share,
  shareWithin,
  sharesOfParts,
} from '../../src/audit/withhold.ts';

const STEPS = Array.from({ length: 61 }, (_, at) => at - 30).filter((step) => step !== 0);
const counts = fc.array(fc.integer({ min: 0, max: 30 }), { minLength: 1, maxLength: 6 });
const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);

describe('cells under five', () => {
  it('a lone small cell takes the next larger one with it', () => {
    expect(partition([20, 3, 9])).toEqual([20, null, null]);
    expect(partition([20, 10, 3, 7])).toEqual([20, 10, null, null]);
    expect(partition([20, 10, 0])).toEqual([20, 10, 0]);
    expect(partition([36, 3, 1])).toEqual([null, null, null]);
    expect(partition([36, 2, 4])).toEqual([36, null, null]);
  });

  it('are never shown, and never follow from the whole and the cells that are shown', () => {
    fc.assert(
      fc.property(counts, (cells) => {
        fc.pre(sum(cells) >= FEWEST);
        const shown = partition(cells);
        shown.forEach((cell, at) => {
          if (cell === null) return;
          expect(cell).toBe(cells[at]);
          expect(cell === 0 || cell >= FEWEST).toBe(true);
        });
        const hidden = cells.filter((_, at) => shown[at] === null);
        if (hidden.length === 0) return;
        // What a reader can find: all ways to fill the withheld cells (each at least one) with what is left over.
        expect(hidden.length).toBeGreaterThan(1);
        expect(sum(hidden)).toBeGreaterThanOrEqual(FEWEST);
        expect(sum(hidden)).toBeGreaterThan(hidden.length - 1);
      }),
    );
  });

  it('a reader who knows that a withheld cell is small cannot tell it: another filling fits as well', () => {
    fc.assert(
      fc.property(counts, (cells) => {
        fc.pre(sum(cells) >= FEWEST);
        const shown = partition(cells);
        cells.forEach((cell, at) => {
          if (cell === 0 || cell >= FEWEST) return;
          const others = STEPS.some((step) =>
            cells.some((_, other) => {
              if (other === at || shown[other] !== null) return false;
              const moved = cells.map((n, k) => n + (k === at ? step : k === other ? -step : 0));
              const held = moved.filter((_, k) => shown[k] === null);
              return held.every((n) => n >= 1) && held.some((n) => n < FEWEST);
            }),
          );
          expect(others, `${cells.join(' ')} shown as ${shown.join(' ')}`).toBe(true);
        });
      }),
      { numRuns: 3000 },
    );
  });

  it('a share is exact only where both it and its rest are', () => {
    expect(share(3, 4)).toEqual({ kind: 'withheld' });
    expect(share(3, 40)).toEqual({ kind: 'under', of: 40 });
    expect(share(38, 40)).toEqual({ kind: 'over', of: 40, least: 35 });
    expect(share(40, 40)).toEqual({ kind: 'exact', hits: 40, of: 40 });
    expect(share(0, 40)).toEqual({ kind: 'exact', hits: 0, of: 40 });
    expect(share(20, 40)).toEqual({ kind: 'exact', hits: 20, of: 40 });
    expect(shareWithin(20, 38, 40)).toEqual({ kind: 'withheld' });
    expect(shareWithin(20, 30, 40)).toEqual({ kind: 'exact', hits: 20, of: 30 });
    expect(
      sharesOfParts([
        { hits: 3, of: 20 },
        { hits: 9, of: 20 },
      ]),
    ).toBeNull();
    expect(
      sharesOfParts([
        { hits: 8, of: 20 },
        { hits: 9, of: 20 },
      ]),
    ).toHaveLength(2);
  });

  it('numbers that would give one away are told as bands', () => {
    expect([4, 5, 9, 10, 19, 20, 49, 50, 100, 10_000].map(band)).toEqual([
      null,
      '5 to 9',
      '5 to 9',
      '10 to 19',
      '10 to 19',
      '20 to 49',
      '20 to 49',
      '50 to 99',
      '100 to 199',
      '10,000 or more',
    ]);
  });
});

describe('months', () => {
  const months = fc
    .uniqueArray(fc.integer({ min: 0, max: 40 }), { minLength: 1 })
    .chain((list) =>
      fc
        .array(fc.integer({ min: 0, max: 9 }), { minLength: list.length, maxLength: list.length })
        .map(
          (ns) =>
            new Map(
              list.map((m, at) => [
                `20${20 + Math.floor(m / 12)}-${String((m % 12) + 1).padStart(2, '0')}`,
                ns[at]!,
              ]),
            ),
        ),
    );
  const within = (counts: ReadonlyMap<string, number>, from: string, to: string) =>
    sum([...counts].filter(([m]) => m >= from && m <= to).map(([, n]) => n));

  it('are pooled until a point has five, and every record is in one point', () => {
    expect(
      poolMonths(
        new Map([
          ['2026-01', 3],
          ['2026-02', 2],
          ['2026-03', 7],
          ['2026-04', 4],
        ]),
      ),
    ).toEqual([
      { from: '2026-01', to: '2026-02' },
      { from: '2026-03', to: '2026-04' },
    ]);
    fc.assert(
      fc.property(months, (counts) => {
        const pools = poolMonths(counts);
        if (pools === null) {
          expect(sum([...counts.values()])).toBeLessThan(FEWEST);
          return;
        }
        const sizes = pools.map(({ from, to }) => within(counts, from, to));
        expect(Math.min(...sizes)).toBeGreaterThanOrEqual(FEWEST);
        expect(sum(sizes)).toBe(sum([...counts.values()]));
        for (const [at, { from }] of pools.entries()) if (at > 0) expect(from > pools[at - 1]!.to).toBe(true);
      }),
    );
  });

  it('are not split where a side of the named date has too few', () => {
    const counts = new Map([
      ['2026-01', 9],
      ['2026-02', 3],
      ['2026-03', 8],
    ]);
    expect(poolAround(counts, '2026-02')).toEqual([
      [{ from: '2026-01', to: '2026-01' }],
      [{ from: '2026-02', to: '2026-03' }],
    ]);
    expect(
      poolAround(
        new Map([
          ['2026-01', 9],
          ['2026-02', 3],
        ]),
        '2026-02',
      ),
    ).toBeNull();
  });
});
