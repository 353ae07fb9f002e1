import { YARDSTICKS } from '../../core/facts/completeness.ts';
import type { Block, Figure, Section } from '../report-model.ts';
import { asRunChart, FEWEST_FOR_SPREAD, medianPoints, spelledOut, type PartData } from '../part-data.ts';
import { quartiles } from '../statistics.ts';
import { FEWEST, partition, share, shareWithin } from '../withhold.ts';
import { plain, shareText, WITHHELD } from '../words.ts';

/** Fields filled by these are counted in tables of their own, as parts of a whole. */
const COUNTED_ELSEWHERE = new Set(['cord-gas', 'blood-loss']);

/** How complete our record is, by field and over time. */
export function completenessSection(data: PartData): { section: Section; figures: Figure[] } {
  const rows = data.answers.completeness.map(({ month, percent, n }) => ({ month, value: percent, n }));
  const values = spelledOut(rows);
  const found = values.length < FEWEST ? null : quartiles(values);
  const points = medianPoints(data, rows);
  const fields = data.answers.fields
    .filter(({ field }) => !data.labels.fillers(field).some((code) => COUNTED_ELSEWHERE.has(code)))
    .sort((a, b) => data.labels.fieldPlace(a.field) - data.labels.fieldPlace(b.field));
  const kinds = [...new Set(fields.map(({ kind }) => kind))];
  const half =
    found === null || values.length < FEWEST_FOR_SPREAD
      ? ''
      : `half between ${Math.round(found.q1)} and ${Math.round(found.q3)} %`;
  const middle =
    found === null ? WITHHELD : `${Math.round(found.median)} %${half === '' ? '' : ` (${half})`}`;
  const order = data.labels;
  const blocks: Block[] = [
    { kind: 'text', text: `Fields recorded in one ${data.one}: median ${middle} of those that apply.` },
    ...(points.length === 0
      ? []
      : [
          {
            kind: 'chart',
            chart: asRunChart(data, 'Share of fields recorded: median of each point', 'percent', points),
          } as const,
        ]),
    ...kinds.map((kind): Block => ({
      kind: 'table',
      caption: order.fieldGroup(kind),
      columns: ['Field', `Recorded, of the ${data.many} to which it applies`],
      rows: fields
        .filter((row) => row.kind === kind)
        .map(({ field, asked, recorded }) => [
          order.field(field),
          asked === 0 ? 'applies to none' : shareText(shareWithin(recorded, asked, data.total)),
        ]),
    })),
    {
      kind: 'table',
      caption:
        'Beside it: published figures for written notes. Other people, places and lists of fields; no mark for this unit.',
      columns: ['Study', 'Found'],
      rows: YARDSTICKS.map(({ study, findings }) => [study, findings.join('; ')]),
    },
  ];
  return {
    figures: [
      {
        label: 'Fields of the note recorded, median',
        value: found === null ? WITHHELD : `${Math.round(found.median)} %`,
        counted: `of the fields that apply to each ${data.one}${half === '' ? '' : `; ${half}`}`,
      },
    ],
    section: {
      id: `${data.id}-completeness`,
      title: 'Completeness of the record',
      records: `${plain(data.total)} ${data.many}.`,
      definition:
        'A field counts as recorded where an entry, a length worked out or typed text fills it, as in the list of what is missing; what does not apply is not asked for. That something is recorded does not make it right. Cord gases and blood loss stand under Gases and blood loss.',
      blocks,
    },
  };
}

const GASES = ['two vessels', 'one vessel', 'vessel not stated', 'none'] as const;
const LOSSES = ['measured', 'estimated', 'method not stated', 'not recorded'] as const;
const GAS_WORDS: Record<(typeof GASES)[number], string> = {
  'two vessels': 'Artery and vein',
  'one vessel': 'One vessel',
  'vessel not stated': 'A pH, vessel not stated',
  none: 'No pH',
};
const LOSS_WORDS: Record<(typeof LOSSES)[number], string> = {
  measured: 'Measured or weighed',
  estimated: 'Estimated',
  'method not stated': 'An amount, method not stated',
  'not recorded': 'Not recorded',
};

/** Paired gases present, and blood loss measured or estimated. */
export function findingsSection(data: PartData): { section: Section; figures: Figure[] } {
  const { findings } = data.answers;
  const count = (of: (row: (typeof findings)[number]) => boolean) =>
    findings.reduce((sum, row) => sum + (of(row) ? row.n : 0), 0);
  const gases = partition(GASES.map((name) => count((row) => row.gases === name)));
  const losses = partition(LOSSES.map((name) => count((row) => row.blood_loss === name)));
  const cells = (shown: (number | null)[], words: string[]) =>
    words.map((label, at) => [
      label,
      shown[at] === null ? WITHHELD : shareText({ kind: 'exact', hits: shown[at]!, of: data.total }),
    ]);
  const paired = count((row) => row.gases === 'two vessels');
  const measured = count((row) => row.blood_loss === 'measured');
  // A count that its table withholds is withheld here, too.
  const told = (shown: number | null, hits: number) =>
    shown === null ? WITHHELD : shareText(share(hits, data.total));
  const heads = ['', data.many.replace(/^./, (c) => c.toUpperCase())];
  return {
    figures: [
      {
        label: 'Paired cord gases',
        value: told(gases[0]!, paired),
        counted: `${data.many} with a pH of artery and of vein`,
      },
      {
        label: 'Blood loss measured or weighed',
        value: told(losses[0]!, measured),
        counted: `${data.many}; the others estimated, of unstated method or not recorded`,
      },
    ],
    section: {
      id: `${data.id}-findings`,
      title: 'Gases and blood loss',
      records: `${plain(data.total)} ${data.many}.`,
      definition:
        'Gases: vessels of which a pH is recorded. Blood loss: measured or weighed where any entry says so, else estimated, else an amount alone. Apgar scores and other findings stand in the tables of fields.',
      blocks: [
        {
          kind: 'table',
          caption: 'Cord gases',
          columns: heads,
          rows: cells(
            gases,
            GASES.map((n) => GAS_WORDS[n]),
          ),
        },
        {
          kind: 'table',
          caption: 'Blood loss',
          columns: heads,
          rows: cells(
            losses,
            LOSSES.map((n) => LOSS_WORDS[n]),
          ),
        },
      ],
    },
  };
}
