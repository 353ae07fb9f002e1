import { quantileSorted } from 'd3-array';
import { Z95, type Bounds } from './proportions.ts';

export interface Quartiles {
  n: number;
  q1: number;
  median: number;
  q3: number;
}

/**
 * Median and quartiles by linear interpolation (definition 7 of Hyndman and Fan 1996, Am Stat 50:361–365, doi
 * 10.1080/00031305.1996.10473566), as percentile_cont of SQL gives them. Null of nothing.
 * @param sorted ascending.
 */
export function quartiles(sorted: readonly number[]): Quartiles | null {
  if (sorted.length === 0) return null;
  const at = (share: number) => quantileSorted(sorted as number[], share)!;
  return { n: sorted.length, q1: at(0.25), median: at(0.5), q3: at(0.75) };
}

/** ln(n!) for whole n, summed once. */
const logFactorials = [0];
function logFactorial(n: number): number {
  for (let k = logFactorials.length; k <= n; k++) logFactorials.push(logFactorials[k - 1]! + Math.log(k));
  return logFactorials[n]!;
}

/** P(X ≤ k) for X binomial with n trials and probability one half. */
export function halfBinomialAtMost(k: number, n: number): number {
  let sum = 0;
  for (let i = 0; i <= Math.min(k, n); i++)
    sum += Math.exp(logFactorial(n) - logFactorial(i) - logFactorial(n - i) - n * Math.LN2);
  return Math.min(1, sum);
}

/** The smallest k with P(X ≤ k) ≥ p, of the same distribution. */
export function halfBinomialQuantile(p: number, n: number): number {
  let k = 0;
  while (halfBinomialAtMost(k, n) < p) k += 1;
  return k;
}

/**
 * Ranks (1 = smallest) of the order statistics that enclose the median with at least 95 % confidence, the
 * narrowest such pair that lies evenly; null below six values. Source: David and Nagaraja 2003, Order Statistics,
 * 3rd edition, section 7.1 (from memory); as in Campbell and Gardner 1988, "Calculating confidence intervals for
 * some non-parametric analyses", BMJ 296:1454–1456, doi 10.1136/bmj.296.6634.1454.
 */
export function medianRanks(n: number): { low: number; high: number } | null {
  const below = halfBinomialQuantile(0.025, n);
  // P(X ≤ low − 1) must stay at or under 2.5 %.
  const low = halfBinomialAtMost(below, n) <= 0.025 ? below + 1 : below;
  return low < 1 ? null : { low, high: n + 1 - low };
}

/** The values at those ranks. @param sorted ascending. */
export function medianInterval(sorted: readonly number[]): Bounds | null {
  const ranks = medianRanks(sorted.length);
  return ranks && { low: sorted[ranks.low - 1]!, high: sorted[ranks.high - 1]! };
}

/**
 * How far the second group lies above the first: median of all differences second minus first (Hodges and
 * Lehmann) with its 95 % interval. Source: Campbell and Gardner 1988 (as above), normal approximation of the
 * rank, rounded up. Null where a group has fewer than five values.
 * @param first, second whole numbers (seconds).
 */
export function shiftBetween(
  first: readonly number[],
  second: readonly number[],
): (Bounds & { shift: number }) | null {
  const [n1, n2] = [first.length, second.length];
  if (n1 < 5 || n2 < 5) return null;
  const pairs = n1 * n2;
  const rank = Math.ceil(pairs / 2 - Z95 * Math.sqrt((pairs * (n1 + n2 + 1)) / 12));
  if (rank < 1) return null;
  const at = rankedDifferences(first, second);
  const middle = pairs % 2 === 1 ? at((pairs + 1) / 2) : (at(pairs / 2) + at(pairs / 2 + 1)) / 2;
  return { shift: middle, low: at(rank), high: at(pairs + 1 - rank) };
}

/** The difference at a rank, without holding all of them: counted by value. */
function rankedDifferences(first: readonly number[], second: readonly number[]): (rank: number) => number {
  const [a, b] = [tally(first), tally(second)];
  const counts = new Map<number, number>();
  for (const [x, m] of a) for (const [y, k] of b) counts.set(y - x, (counts.get(y - x) ?? 0) + m * k);
  const ordered = [...counts].sort(([x], [y]) => x - y);
  return (rank) => {
    let seen = 0;
    for (const [difference, count] of ordered) if ((seen += count) >= rank) return difference;
    return NaN;
  };
}

function tally(values: readonly number[]): Map<number, number> {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return counts;
}

export interface RunChart {
  median: number;
  /** Points that do not lie on the median. */
  useful: number;
  longestRun: number;
  /** A longer run is a signal. */
  longestRunLimit: number;
  crossings: number;
  /** Fewer crossings are a signal. */
  crossingsLimit: number;
}

/** Below this the rules are not applied. Source: Anhøj and Olesen 2014 study charts of ten points and more. */
export const FEWEST_RUN_POINTS = 10;

/**
 * Run chart against its own median. Rules: a run longer than round(log2(n) + 3) points on one side, or fewer
 * crossings of the median than the 5 % quantile of a binomial of n − 1 trials and one half; n counts useful
 * points. Source: Anhøj and Olesen 2014, "Run charts revisited: a simulation study of run chart rules for
 * detection of non-random variation in health care processes", PLoS One 9:e113825, doi 10.1371/journal.pone.0113825.
 * Null below FEWEST_RUN_POINTS useful points.
 */
export function runChart(values: readonly number[]): RunChart | null {
  const median = quartiles([...values].sort((a, b) => a - b))?.median;
  if (median === undefined) return null;
  const sides = values.filter((value) => value !== median).map((value) => value > median);
  if (sides.length < FEWEST_RUN_POINTS) return null;
  let [longestRun, run, crossings] = [1, 1, 0];
  for (let at = 1; at < sides.length; at++) {
    run = sides[at] === sides[at - 1] ? run + 1 : 1;
    if (run === 1) crossings += 1;
    longestRun = Math.max(longestRun, run);
  }
  return {
    median,
    useful: sides.length,
    longestRun,
    longestRunLimit: Math.round(Math.log2(sides.length) + 3),
    crossings,
    crossingsLimit: halfBinomialQuantile(0.05, sides.length - 1),
  };
}

export interface ControlChart {
  mean: number;
  low: number;
  high: number;
  meanRange: number;
  rangeLimit: number;
  /** Indices of points outside the limits. */
  outside: number[];
}

/** Project choice, common practice: limits from fewer points move too much with each new one. */
export const FEWEST_CONTROL_POINTS = 12;

/**
 * Control chart of single values and moving ranges (XmR): mean ± 3 R̄/1.128, range limit 3.267 R̄. Source:
 * Montgomery, Introduction to Statistical Quality Control, 7th edition, 2013, section 6.4 (constants d2 and D4
 * for two values; from memory). Null below FEWEST_CONTROL_POINTS points.
 */
export function controlChart(values: readonly number[], fewest = FEWEST_CONTROL_POINTS): ControlChart | null {
  if (values.length < fewest) return null;
  const mean = average(values);
  const meanRange = average(values.slice(1).map((value, at) => Math.abs(value - values[at]!)));
  const width = (3 * meanRange) / 1.128;
  const [low, high] = [mean - width, mean + width];
  return {
    mean,
    low,
    high,
    meanRange,
    rangeLimit: 3.267 * meanRange,
    outside: values.flatMap((value, at) => (value < low || value > high ? [at] : [])),
  };
}

const average = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
