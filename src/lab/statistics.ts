export { wilson } from '../audit/proportions.ts';

/** Quantile of a list by linear interpolation; NaN of an empty one. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = share * (sorted.length - 1);
  const [low, high] = [sorted[Math.floor(at)], sorted[Math.ceil(at)]];
  return low === undefined || high === undefined ? NaN : low + (high - low) * (at - Math.floor(at));
}

export const median = (values: readonly number[]): number => quantile(values, 0.5);

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
