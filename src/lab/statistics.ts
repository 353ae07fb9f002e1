/** Quantile of a list by linear interpolation; NaN of an empty one. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = share * (sorted.length - 1);
  const [low, high] = [sorted[Math.floor(at)], sorted[Math.ceil(at)]];
  return low === undefined || high === undefined ? NaN : low + (high - low) * (at - Math.floor(at));
}

export const median = (values: readonly number[]): number => quantile(values, 0.5);

/**
 * 95 % interval of a proportion. Source: Wilson 1927, "Probable inference, the law of succession, and
 * statistical inference", J Am Stat Assoc 22:209–212.
 */
export function wilson(hits: number, of: number): { low: number; high: number } {
  if (of === 0) return { low: 0, high: 1 };
  const z = 1.959964;
  const p = hits / of;
  const middle = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z / (1 + (z * z) / of)) * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of));
  return { low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}

/** Probability of at most `count` events where `mean` are expected. */
function poissonAtMost(count: number, mean: number): number {
  let term = Math.exp(-mean);
  let sum = term;
  for (let k = 1; k <= count; k++) sum += term *= mean / k;
  return sum;
}

/** Where a falling function of the mean passes `level`, by halving. */
function solve(falls: (mean: number) => number, level: number): number {
  let [low, high] = [0, 1];
  while (falls(high) > level) high *= 2;
  for (let k = 0; k < 80; k++) {
    const middle = (low + high) / 2;
    if (falls(middle) > level) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Exact 95 % interval of the mean behind a count of rare events. Source: Garwood 1936, "Fiducial limits for the
 * Poisson distribution", Biometrika 28:437–442.
 */
export function poisson(count: number): { low: number; high: number } {
  return {
    low: count === 0 ? 0 : solve((mean) => poissonAtMost(count - 1, mean), 0.975),
    high: solve((mean) => poissonAtMost(count, mean), 0.025),
  };
}
