import type { Figure, Section } from '../report-model.ts';
import {
  asControlChart,
  asRunChart,
  FEWEST_FOR_SPREAD,
  medianPoints,
  spelledOut,
  type PartData,
} from '../part-data.ts';
import { medianInterval, quartiles } from '../statistics.ts';
import { FEWEST, partition, share } from '../withhold.ts';
import { clock, clockRange, plain, shareText, WITHHELD } from '../words.ts';

const DEFINITION =
  'Head to body: from "head delivered" to "baby delivered", in whole seconds as the note prints them; only where each end is recorded once and in order. Median with quartiles (percentile_cont of SQL) and 95 % interval of the median by order statistics (Campbell and Gardner 1988, BMJ 296:1454, doi 10.1136/bmj.296.6634.1454), both from nine lengths on.';

/** How long from head to body, and is it changing. */
export function headToBodySection(data: PartData): { section: Section; figures: Figure[] } {
  const rows = data.answers['head-to-body'].flatMap(({ month, seconds, n }) =>
    seconds === null ? [] : [{ month, value: seconds, n }],
  );
  const values = spelledOut(rows);
  const known = share(values.length, data.total);
  const found = values.length < FEWEST ? null : quartiles(values);
  const interval = values.length < FEWEST_FOR_SPREAD ? null : medianInterval(values);
  const counted = `known in ${shareText(known)} ${data.many}`;
  const half =
    found === null || values.length < FEWEST_FOR_SPREAD
      ? ''
      : `half between ${clock(found.q1)} and ${clock(found.q3)}`;
  const halves = half === '' ? '' : ` (${half})`;
  const middle = found === null ? WITHHELD : `${clock(found.median)}${halves}`;
  const points = medianPoints(data, rows);
  const figures: Figure[] = [
    {
      label: 'Head to body, median',
      value: found === null ? WITHHELD : clock(found.median),
      counted: [
        ...(half === '' ? [] : [half]),
        ...(interval === null ? [] : [`95 % interval ${clockRange(interval)}`]),
        counted,
      ].join('; '),
    },
  ];
  return {
    figures,
    section: {
      id: `${data.id}-head-to-body`,
      title: 'Head to body',
      records: `${plain(data.total)} ${data.many}; ${counted}.`,
      definition: DEFINITION,
      blocks: [
        {
          kind: 'text',
          text: `Median ${middle}${interval === null ? '' : `; 95 % interval of the median ${clockRange(interval)}`}.`,
        },
        ...(points.length === 0
          ? []
          : ([
              {
                kind: 'chart',
                chart: asRunChart(data, 'Run chart: median of each point', 'seconds', points),
              },
              {
                kind: 'chart',
                chart: {
                  ...asControlChart(data, 'Control chart of the same medians', 'seconds', points),
                  numbersAbove: true,
                },
              },
            ] as const)),
        byUnit(data),
      ],
    },
  };
}

function byUnit(data: PartData): Section['blocks'][number] {
  const counts = new Map<string, number>();
  for (const { unit, n } of data.answers.births) counts.set(unit, (counts.get(unit) ?? 0) + n);
  const units = [...counts.keys()].sort();
  const shown = partition(units.map((unit) => counts.get(unit)!));
  const rows = units.map((unit, at) => {
    const found = data.answers['head-to-body-quartiles'].find((row) => row.unit === unit);
    const told = shown[at] !== null && found !== undefined && found.n >= FEWEST;
    return [
      unit,
      shown[at] === null ? WITHHELD : plain(shown[at]!),
      told ? clock(found.median!) : WITHHELD,
      told && found.n >= FEWEST_FOR_SPREAD ? `${clock(found.q1!)} to ${clock(found.q3!)}` : WITHHELD,
    ];
  });
  return {
    kind: 'table',
    caption: 'By unit, in the order of their names',
    columns: ['Unit', data.many.replace(/^./, (c) => c.toUpperCase()), 'Median', 'Quartiles'],
    rows,
  };
}
