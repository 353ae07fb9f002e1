import type { Figure, Section } from '../report-model.ts';
import { asRunChart, inPool, poolLabel, type PartData } from '../part-data.ts';
import { FEWEST } from '../withhold.ts';
import { band } from '../withhold.ts';
import { percent, plain, signedClock, WITHHELD } from '../words.ts';

const WAYS: Record<string, string> = {
  recording: 'Recording',
  live: 'With a mannequin',
  'table-top': 'Table-top',
};

/** What happened against what stands in the record. */
export function truthSection(data: PartData): { section: Section; figures: Figure[] } {
  const { truth } = data.answers;
  const total = (key: 'drills' | 'events' | 'recorded' | 'held' | 'in_time', rows = truth) =>
    rows.reduce((sum, row) => sum + row[key], 0);
  const drills = total('drills');
  const points = data.pools.flatMap((pool) => {
    const rows = truth.filter(({ month }) => inPool(pool, month));
    if (total('drills', rows) < FEWEST) return [];
    const value = Math.round((100 * total('held', rows)) / total('events', rows));
    return [{ label: poolLabel(pool), records: data.birthsIn(pool), value }];
  });
  const ways = [...new Set(truth.map(({ drill_way }) => drill_way))].sort();
  const enough = drills >= FEWEST && total('events') > 0;
  const of = (key: 'recorded' | 'held' | 'in_time', rows = truth) =>
    percent(total(key, rows) / total('events', rows));
  return {
    figures: enough
      ? [
          {
            label: 'Of what happened, rightly in the record',
            value: of('held'),
            counted: `events of ${band(drills)} drills whose truth is at hand; in time: ${of('in_time')}`,
          },
        ]
      : [],
    section: {
      id: `${data.id}-truth`,
      title: 'Truth against record',
      records: `${band(drills) ?? `Fewer than ${FEWEST}`} drills whose truth is at hand, of ${plain(data.total)}.`,
      definition:
        'Events that happened in a drill, by its script or as the facilitator marked them, against the entries that stand in its record, paired as in the debrief. Right: no slot contradicts the truth. In time: within the limit of the debrief. Time error: median over drills of each drill\u2019s median error.',
      blocks: enough
        ? [
            {
              kind: 'table',
              caption: 'By the way in which the drill was held',
              columns: [
                'Drills held',
                'Number',
                'Recorded',
                'Right',
                'Right and in time',
                'Time error',
                'Head to body, recorded minus true',
              ],
              rows: ways.map((way) => {
                const rows = truth.filter(({ drill_way }) => drill_way === way);
                const n = total('drills', rows);
                const errors = data.answers['truth-errors'].find(({ drill_way }) => drill_way === way);
                if (n < FEWEST)
                  return [WAYS[way] ?? way, WITHHELD, WITHHELD, WITHHELD, WITHHELD, WITHHELD, WITHHELD];
                const error = errors?.time_error_s;
                const main =
                  errors !== undefined && errors.compared >= FEWEST ? errors.head_to_body_error_s : null;
                return [
                  WAYS[way] ?? way,
                  band(n)!,
                  of('recorded', rows),
                  of('held', rows),
                  of('in_time', rows),
                  error === null || error === undefined ? WITHHELD : `${error.toFixed(1)} s`,
                  main === null ? WITHHELD : `median ${signedClock(main)}`,
                ];
              }),
            },
            ...(points.length === 0
              ? []
              : [
                  {
                    kind: 'chart',
                    chart: asRunChart(data, 'Right, of what happened', 'percent', points),
                  } as const,
                ]),
          ]
        : [],
    },
  };
}
