import { describe, expect, it } from 'vitest';
import {
  gPerDlFromMmolPerL,
  gramsFromPounds,
  kpaFromMmhg,
  mmhgFromKpa,
  mmolPerLFromGPerDl,
  poundsFromGrams,
} from '../../../src/core/facts/units.ts';
import { checksOf, unread } from '../published-checks.ts';

describe('units', () => {
  it.each(checksOf('unit'))('%s', (_title, check) => {
    const { kpa, mmhg, hb_mmol_l, hb_g_dl } = check.input as Record<string, number>;
    const value =
      kpa !== undefined
        ? mmhgFromKpa(kpa)
        : mmhg !== undefined
          ? kpaFromMmhg(mmhg)
          : hb_mmol_l !== undefined
            ? gPerDlFromMmolPerL(hb_mmol_l)
            : hb_g_dl !== undefined
              ? mmolPerLFromGPerDl(hb_g_dl)
              : unread(check);
    expect(Math.abs(value - (check.expected as number))).toBeLessThanOrEqual(check.tolerance!);
  });
});

describe('weight', () => {
  it.each(checksOf('weight'))('%s', (_title, check) => {
    const { lb, oz, g } = check.input as Record<string, number>;
    if (g !== undefined) {
      const { lb: pounds, oz: ounces } = check.expected as { lb: number; oz: number };
      expect(poundsFromGrams(g).pounds).toBe(pounds);
      expect(Math.abs(poundsFromGrams(g).ounces - ounces)).toBeLessThanOrEqual(check.tolerance!);
    } else if (lb !== undefined) {
      expect(Math.abs(gramsFromPounds(lb, oz) - (check.expected as number))).toBeLessThanOrEqual(
        check.tolerance!,
      );
    } else unread(check);
  });

  it('carries sixteen ounces over to a pound', () => {
    expect(poundsFromGrams(gramsFromPounds(8) - 1)).toEqual({ pounds: 8, ounces: 0 });
  });
});
