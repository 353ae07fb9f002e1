/**
 * Small cells. A count of one to four records is withheld in all that is shown or exported, and so is every count
 * from which it could be worked out by difference. Nought is shown: it counts nobody. Five is a project choice
 * (common practice of statistical offices, no source).
 */
export const FEWEST = 5;

/** A count that may be shown, or null where it is withheld. */
export type Shown = number | null;

const isSmall = (count: number): boolean => count > 0 && count < FEWEST;

/**
 * Which cells of a whole that is itself shown must be withheld: the small ones and, where these alone would follow
 * from the rest, the next larger ones, until at least two are withheld that hold FEWEST records together. Somebody
 * who runs this choice backwards can narrow a cell down further than somebody who knows the threshold alone.
 * @returns the counts, null where withheld.
 */
export function partition(counts: readonly number[]): Shown[] {
  const hidden = new Set(counts.flatMap((count, at) => (isSmall(count) ? [at] : [])));
  if (hidden.size > 0) {
    const rest = [...counts.keys()]
      .filter((at) => !hidden.has(at) && counts[at]! > 0)
      .sort((a, b) => counts[a]! - counts[b]!);
    const held = () => [...hidden].reduce((sum, at) => sum + counts[at]!, 0);
    while (rest.length > 0 && (hidden.size < 2 || held() < FEWEST)) hidden.add(rest.shift()!);
  }
  return counts.map((count, at) => (hidden.has(at) ? null : count));
}

export type ShownShare =
  /** Fewer than FEWEST records in all. */
  | { kind: 'withheld' }
  /** One to four have it: only that is said. */
  | { kind: 'under'; of: number }
  /** One to four lack it. */
  | { kind: 'over'; of: number; least: number }
  | { kind: 'exact'; hits: number; of: number };

/** How many of a whole have something: both that count and the rest are cells. */
export function share(hits: number, of: number): ShownShare {
  if (of < FEWEST) return { kind: 'withheld' };
  if (isSmall(hits)) return { kind: 'under', of };
  if (isSmall(of - hits)) return { kind: 'over', of, least: of - FEWEST };
  return { kind: 'exact', hits, of };
}

/** Of `whole` records the question applies to `of`; the remainder is a cell, too. */
export function shareWithin(hits: number, of: number, whole: number): ShownShare {
  return isSmall(whole - of) ? { kind: 'withheld' } : share(hits, of);
}

/** Two parts of a whole, each with its share: shown only where no cell of either is small. */
export function sharesOfParts(
  parts: readonly { hits: number; of: number }[],
): { hits: number; of: number }[] | null {
  const fine = parts.every(({ hits, of }) => of >= FEWEST && !isSmall(hits) && !isSmall(of - hits));
  return fine ? parts.map(({ hits, of }) => ({ hits, of })) : null;
}

const BANDS = [FEWEST, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000];

/** "20 to 49": a number of records that would give a small cell away by difference if it were exact. */
export function band(count: number): string | null {
  if (count < FEWEST) return null;
  const at = BANDS.findLastIndex((from) => from <= count);
  const next = BANDS[at + 1];
  const plain = (n: number) => n.toLocaleString('en-GB');
  return next === undefined ? `${plain(BANDS[at]!)} or more` : `${plain(BANDS[at]!)} to ${plain(next - 1)}`;
}

/** Consecutive months, both included. */
export interface Pool {
  from: string;
  to: string;
}

/**
 * Pools months until each pool holds FEWEST records; what is left over at the end joins the last pool. Null where
 * there are fewer in all.
 * @param counts by month; the count that must reach FEWEST.
 */
export function poolMonths(counts: ReadonlyMap<string, number>): Pool[] | null {
  const pools: (Pool & { n: number })[] = [];
  let open: (Pool & { n: number }) | null = null;
  for (const [month, n] of [...counts].sort(([a], [b]) => (a < b ? -1 : 1))) {
    open = open === null ? { from: month, to: month, n } : { from: open.from, to: month, n: open.n + n };
    if (open.n < FEWEST) continue;
    pools.push(open);
    open = null;
  }
  const last = pools.at(-1);
  if (last === undefined) return null;
  if (open !== null) last.to = open.to;
  return pools.map(({ from, to }) => ({ from, to }));
}

/** The same, so that no pool holds months from both before and after `change`; null where a side has too few. */
export function poolAround(counts: ReadonlyMap<string, number>, change: string): [Pool[], Pool[]] | null {
  const side = (of: (month: string) => boolean) => poolMonths(new Map([...counts].filter(([m]) => of(m))));
  const [before, after] = [side((month) => month < change), side((month) => month >= change)];
  return before && after && [before, after];
}
