/** Root of a signed number: keeps the second visible beside the minute. */
export const signedRoot = (seconds: number): number => Math.sign(seconds) * Math.sqrt(Math.abs(seconds));

const TICKS = [0, 1, 5, 10, 30, 60, 120, 300, 600];

export interface ErrorScale {
  /** Position of a time error in seconds. */
  x: (seconds: number) => number;
  /** Seconds with a line of their own. */
  ticks: number[];
}

/**
 * A scale from `left` to `right` for time errors in seconds that holds all of them, zero, and `also`.
 * @param also values that must be on it, such as published figures.
 */
export function errorScale(
  errors: readonly number[],
  also: readonly number[],
  left: number,
  right: number,
): ErrorScale {
  const highest = Math.max(5, ...errors, ...also);
  const lowest = Math.min(-5, ...errors);
  const [from, to] = [signedRoot(lowest) * 1.06, signedRoot(highest) * 1.06];
  const x = (seconds: number) => left + ((signedRoot(seconds) - from) / (to - from)) * (right - left);
  const ticks = [...TICKS.slice(1).map((t) => -t), ...TICKS]
    .filter((tick) => tick >= lowest && tick <= highest)
    .sort((a, b) => a - b);
  return { x, ticks };
}

/** Position of a time, from `left` at `fromMs` to `right` at `toMs`. */
export function timeScale(fromMs: number, toMs: number, left: number, right: number): (ms: number) => number {
  const span = Math.max(1, toMs - fromMs);
  return (ms) => left + ((ms - fromMs) / span) * (right - left);
}

/** Whole steps of a time axis with at most about ten of them, ms from `fromMs`. */
export function timeTicks(fromMs: number, toMs: number): number[] {
  const STEPS_S = [5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600];
  const stepS = STEPS_S.find((step) => (toMs - fromMs) / 1000 / step <= 10) ?? STEPS_S.at(-1)!;
  const ticks: number[] = [];
  for (let ms = fromMs; ms <= toMs; ms += stepS * 1000) ticks.push(ms);
  return ticks;
}

/**
 * Puts labels at `xs` (ascending) on levels 0, 1, 2 … so that no two on one level lie closer than `gap`;
 * where all levels are taken, on the one with the most room.
 */
export function levels(xs: readonly number[], gap: number, count: number): number[] {
  const last = new Array<number>(count).fill(-Infinity);
  return xs.map((x) => {
    const free = last.findIndex((taken) => x - taken >= gap);
    const level = free >= 0 ? free : last.indexOf(Math.min(...last));
    last[level] = x;
    return level;
  });
}
