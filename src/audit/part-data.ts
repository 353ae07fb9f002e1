import type { Answers, Mode } from './answers.ts';
import type { Chart, ChartPoint, ReportOptions } from './report-model.ts';
import { controlChart, FEWEST_CONTROL_POINTS, FEWEST_RUN_POINTS, quartiles, runChart } from './statistics.ts';
import { FEWEST, poolAround, poolMonths, type Pool } from './withhold.ts';
import { labels, type Labels } from './words.ts';

/** The answers for births or for drills, and the points in time that all charts of the part share. */
export interface PartData {
  mode: Mode;
  one: string;
  many: string;
  id: 'births' | 'drills';
  total: number;
  answers: Answers;
  labels: Labels;
  /** Pools of months; all charts use the same, so that none tells what another withholds. */
  pools: Pool[];
  birthsIn: (pool: Pool) => number;
  /** The named month, null where there is none. */
  change: string | null;
  /** Whether both sides of it have enough; the pools are then cut there. */
  split: boolean;
}

export function partData(all: Answers, mode: Mode, options: ReportOptions): PartData {
  const of = <Row extends { mode: Mode }>(rows: readonly Row[]) => rows.filter((row) => row.mode === mode);
  const answers: Answers = {
    ...all,
    births: of(all.births),
    'head-to-body': of(all['head-to-body']),
    'head-to-body-quartiles': of(all['head-to-body-quartiles']),
    completeness: of(all.completeness),
    fields: of(all.fields),
    arrivals: of(all.arrivals),
    sequences: of(all.sequences),
    manoeuvres: of(all.manoeuvres),
    findings: of(all.findings),
    hearing: of(all.hearing),
  };
  const births = countByMonth(answers.births);
  const known = new Map([...births.keys()].map((month) => [month, 0]));
  for (const { month, state, n } of answers['head-to-body'])
    if (state === 'known') known.set(month, known.get(month)! + n);
  // Points need enough lengths; where there are none at all, enough records.
  const counts = poolMonths(known) === null ? births : known;
  const change = options.change ?? null;
  const sides = change === null ? null : poolAround(counts, change);
  const real = mode === 'real';
  return {
    mode,
    one: real ? 'birth' : 'drill',
    many: real ? 'births' : 'drills',
    id: real ? 'births' : 'drills',
    total: [...births.values()].reduce((sum, n) => sum + n, 0),
    answers,
    labels: labels(options.vocabulary),
    pools: sides === null ? (poolMonths(counts) ?? []) : sides.flat(),
    birthsIn: ({ from, to }) =>
      [...births].reduce((sum, [month, n]) => sum + (month >= from && month <= to ? n : 0), 0),
    change,
    split: sides !== null,
  };
}

function countByMonth(rows: readonly { month: string; n: number }[]): Map<string, number> {
  const counts = new Map<string, number>();
  for (const { month, n } of rows) counts.set(month, (counts.get(month) ?? 0) + n);
  return counts;
}

export const inPool = ({ from, to }: Pool, month: string): boolean => month >= from && month <= to;
export const poolLabel = ({ from, to }: Pool): string => (from === to ? from : `${from} to ${to}`);

/** Below this quartiles are the second value and the last but one, and an interval's ends are the ends themselves. */
export const FEWEST_FOR_SPREAD = 9;

/** Values spelled out from counts, ascending. */
export function spelledOut(rows: readonly { value: number; n: number }[]): number[] {
  const values: number[] = [];
  for (const { value, n } of rows) for (let k = 0; k < n; k++) values.push(value);
  return values.sort((a, b) => a - b);
}

/** A point for each pool that has enough values: their median and quartiles. */
export function medianPoints(
  { pools, birthsIn }: PartData,
  rows: readonly { month: string; value: number; n: number }[],
): ChartPoint[] {
  return pools.flatMap((pool) => {
    const values = spelledOut(rows.filter(({ month }) => inPool(pool, month)));
    const found = values.length < FEWEST ? null : quartiles(values);
    if (found === null) return [];
    const { median, q1, q3 } = found;
    const spread = values.length < FEWEST_FOR_SPREAD ? {} : { q1, q3 };
    return [{ label: poolLabel(pool), records: birthsIn(pool), value: median, ...spread }];
  });
}

const RUN_RULES = 'Rules: Anhøj and Olesen 2014, PLoS One 9:e113825, doi 10.1371/journal.pone.0113825.';
const CONTROL_RULES =
  'Limits: mean ± 3 mean moving ranges / 1.128 (XmR; Montgomery, Introduction to Statistical Quality Control, 7th edition 2013, section 6.4).';

/** The points against their own median. */
export function asRunChart(data: PartData, title: string, unit: Chart['unit'], points: ChartPoint[]): Chart {
  const found = runChart(points.map(({ value }) => value));
  const centre = quartiles(points.map(({ value }) => value).sort((a, b) => a - b));
  return {
    title,
    unit,
    points,
    centre: centre && { value: centre.median, label: 'median of the points' },
    limits: null,
    changeAt: changeIndex(data, points),
    reading:
      found === null
        ? [tooFew(points, FEWEST_RUN_POINTS, 'the run chart rules')]
        : [...runReading(found), RUN_RULES],
  };
}

function runReading(found: NonNullable<ReturnType<typeof runChart>>): string[] {
  const { longestRun, longestRunLimit, crossings, crossingsLimit, useful } = found;
  const signals = longestRun > longestRunLimit || crossings < crossingsLimit;
  return [
    `Longest run on one side of the median: ${longestRun} points (at most ${longestRunLimit} expected of ${useful}); crossings: ${crossings} (at least ${crossingsLimit} expected).`,
    signals
      ? 'By these rules the points vary in more than a random way. Why, the figures cannot say.'
      : 'By these rules the points vary as chance would have them.',
  ];
}

/** The points with their natural limits. */
export function asControlChart(
  data: PartData,
  title: string,
  unit: Chart['unit'],
  points: ChartPoint[],
): Chart {
  const found = controlChart(points.map(({ value }) => value));
  return {
    title,
    unit,
    points: points.map((point, at) => (found?.outside.includes(at) ? { ...point, outside: true } : point)),
    centre: found && { value: found.mean, label: 'mean of the points' },
    limits: found && { low: found.low, high: found.high },
    changeAt: changeIndex(data, points),
    reading:
      found === null
        ? [tooFew(points, FEWEST_CONTROL_POINTS, 'control limits')]
        : [
            found.outside.length === 0
              ? 'No point lies outside the limits.'
              : `Outside the limits: ${found.outside.map((at) => points[at]!.label).join(', ')}. Why, the figures cannot say.`,
            CONTROL_RULES,
          ],
  };
}

const tooFew = (points: readonly ChartPoint[], fewest: number, what: string): string =>
  `${points.length} ${points.length === 1 ? 'point' : 'points'}: too few for ${what} (${fewest} are needed).`;

function changeIndex({ change, split }: PartData, points: readonly ChartPoint[]): number | null {
  if (change === null || !split) return null;
  const at = points.findIndex(({ label }) => label >= change);
  return at < 0 ? null : at;
}
