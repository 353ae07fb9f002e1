/** Standard normal quantile at 0.975. */
export const Z95 = 1.959964;

export interface Bounds {
  low: number;
  high: number;
}

/**
 * 95 % interval of a proportion. Source: Wilson 1927, "Probable inference, the law of succession, and
 * statistical inference", J Am Stat Assoc 22:209–212.
 */
export function wilson(hits: number, of: number): Bounds {
  if (of === 0) return { low: 0, high: 1 };
  const z = Z95;
  const p = hits / of;
  const middle = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z / (1 + (z * z) / of)) * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of));
  return { low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}

/**
 * 95 % interval of the difference of two independent proportions, second minus first. Source: Newcombe 1998,
 * "Interval estimation for the difference between independent proportions", Stat Med 17:873–890, doi
 * 10.1002/(SICI)1097-0258(19980430)17:8<873::AID-SIM779>3.0.CO;2-I, method 10.
 */
export function differenceOfShares(
  first: { hits: number; of: number },
  second: { hits: number; of: number },
): Bounds & { difference: number } {
  const [p1, p2] = [first.hits / first.of, second.hits / second.of];
  const [w1, w2] = [wilson(first.hits, first.of), wilson(second.hits, second.of)];
  const difference = p2 - p1;
  return {
    difference,
    low: difference - Math.hypot(p2 - w2.low, w1.high - p1),
    high: difference + Math.hypot(w2.high - p2, p1 - w1.low),
  };
}
