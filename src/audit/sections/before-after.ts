import type { Figure, Section } from '../report-model.ts';
import { FEWEST_FOR_SPREAD, spelledOut, type PartData } from '../part-data.ts';
import { differenceOfShares } from '../proportions.ts';
import { medianInterval, quartiles, shiftBetween } from '../statistics.ts';
import { FEWEST, partition, sharesOfParts } from '../withhold.ts';
import { clock, clockRange, percent, plain, signedClock, signedPoints, WITHHELD } from '../words.ts';

const DEFINITION =
  'Records of months before the named month, and from it on. Medians with 95 % intervals by order statistics, from nine values on. How far the later ones lie from the earlier: median of all differences with its 95 % interval (Hodges and Lehmann; Campbell and Gardner 1988, BMJ 296:1454, doi 10.1136/bmj.296.6634.1454). Shares: difference with 95 % interval (Newcombe 1998, Stat Med 17:873, method 10). Other things changed over the same months, too; the figures cannot say what caused what.';

type Row = [string, string, string, string];

/** Before and after a date that a person named: intervals, and no verdict. */
export function beforeAfter(data: PartData): { section: Section; figures: Figure[] } {
  const change = data.change!;
  const early = ({ month }: { month: string }) => month < change;
  const late = ({ month }: { month: string }) => month >= change;
  const count = (of: (row: { month: string }) => boolean) =>
    data.answers.births.reduce((sum, row) => sum + (of(row) ? row.n : 0), 0);
  const base = {
    id: `${data.id}-before-after`,
    title: `Before and from ${change} on`,
    definition: DEFINITION,
  };
  const shown = partition([count(early), count(late)]);
  if (!data.split || shown.includes(null)) {
    const text = `One of the two periods has fewer than ${FEWEST} ${data.many} with a known head to body: the ${data.many} are not divided.`;
    return {
      figures: [],
      section: { ...base, records: `${plain(data.total)} ${data.many}.`, blocks: [{ kind: 'text', text }] },
    };
  }
  const lengths = data.answers['head-to-body'].flatMap(({ month, seconds, n }) =>
    seconds === null ? [] : [{ month, value: seconds, n }],
  );
  const shares = data.answers.completeness.map(({ month, percent: value, n }) => ({ month, value, n }));
  const { findings } = data.answers;
  const findingRow = (label: string, has: (row: (typeof findings)[number]) => boolean): Row => {
    const side = (of: (row: { month: string }) => boolean) => {
      const rows = findings.filter(of);
      const sum = (list: typeof rows) => list.reduce((total, { n }) => total + n, 0);
      return { hits: sum(rows.filter(has)), of: sum(rows) };
    };
    return shareRow(label, side(early), side(late));
  };
  const sides = (rows: readonly { month: string; value: number; n: number }[]) =>
    [spelledOut(rows.filter(early)), spelledOut(rows.filter(late))] as const;
  return {
    figures: [],
    section: {
      ...base,
      records: `${plain(shown[0]!)} ${data.many} before, ${plain(shown[1]!)} from ${change} on.`,
      blocks: [
        {
          kind: 'table',
          caption: 'With 95 % intervals',
          columns: ['', 'Before', `From ${change} on`, 'Later against earlier'],
          rows: [
            medianRow('Head to body, median', ...sides(lengths), clock, clockRange, signedClock),
            medianRow(
              'Fields recorded, median',
              ...sides(shares),
              (value) => `${Math.round(value)} %`,
              ({ low, high }) => `${Math.round(low)} to ${Math.round(high)} %`,
              (value) => `${signedPoints(value)} points`,
            ),
            findingRow('Paired cord gases', ({ gases }) => gases === 'two vessels'),
            findingRow('Blood loss measured or weighed', ({ blood_loss }) => blood_loss === 'measured'),
          ],
        },
      ],
    },
  };
}

function medianRow(
  label: string,
  early: readonly number[],
  late: readonly number[],
  one: (value: number) => string,
  range: (bounds: { low: number; high: number }) => string,
  signed: (value: number) => string,
): Row {
  const told = (values: readonly number[]) => {
    const found = values.length < FEWEST ? null : quartiles(values);
    if (found === null) return WITHHELD;
    const bounds = values.length < FEWEST_FOR_SPREAD ? null : medianInterval(values);
    return bounds === null ? one(found.median) : `${one(found.median)} (${range(bounds)})`;
  };
  const found = shiftBetween(early, late);
  const shift =
    found === null ? WITHHELD : `${signed(found.shift)} (${signed(found.low)} to ${signed(found.high)})`;
  return [label, told(early), told(late), shift];
}

function shareRow(
  label: string,
  early: { hits: number; of: number },
  late: { hits: number; of: number },
): Row {
  const shown = sharesOfParts([early, late]);
  if (shown === null) return [label, WITHHELD, WITHHELD, WITHHELD];
  const { difference, low, high } = differenceOfShares(early, late);
  const told = ({ hits, of }: typeof early) => `${plain(hits)} of ${plain(of)} (${percent(hits / of)})`;
  const points = (share: number) => signedPoints(100 * share);
  return [label, told(early), told(late), `${points(difference)} points (${points(low)} to ${points(high)})`];
}
