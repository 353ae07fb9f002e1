import type { Block, Figure, Section } from '../report-model.ts';
import { FEWEST_FOR_SPREAD, type PartData } from '../part-data.ts';
import { band, FEWEST, partition } from '../withhold.ts';
import { clock, plain, shareText, WITHHELD } from '../words.ts';

const BANDS_SAID =
  'Numbers beside a median are told as bands, because exact ones would give small cells away.';

interface Quartered {
  q1: number | null;
  median: number | null;
  q3: number | null;
}
const lengthCells = ({ q1, median, q3 }: Quartered, n: number): [string, string] =>
  n < FEWEST
    ? [WITHHELD, WITHHELD]
    : [clock(median!), n < FEWEST_FOR_SPREAD ? WITHHELD : `${clock(q1!)} to ${clock(q3!)}`];

/** Call to arrival by role. */
export function arrivalsSection(data: PartData): { section: Section; figures: Figure[] } {
  const { arrivals } = data.answers;
  const table = (measure: string, caption: string, head: string): Block => ({
    kind: 'table',
    caption,
    columns: ['Role', head, 'Length known in', 'Median', 'Quartiles'],
    rows: arrivals
      .filter((row) => row.measure === measure)
      .sort((a, b) => (data.labels.role(a.role) < data.labels.role(b.role) ? -1 : 1))
      .map((row) => [
        data.labels.role(row.role),
        band(row.called) ?? WITHHELD,
        band(row.arrived) ?? WITHHELD,
        ...lengthCells(row, row.arrived),
      ]),
  });
  const slowest = arrivals
    .filter((row) => row.measure === 'called-to-arrival' && row.arrived >= FEWEST)
    .sort((a, b) => (data.labels.role(a.role) < data.labels.role(b.role) ? -1 : 1));
  return {
    figures:
      slowest.length === 0
        ? []
        : [
            {
              label: 'Called to arrival, median by role',
              value: slowest.map((row) => `${data.labels.role(row.role)} ${clock(row.median!)}`).join(', '),
              counted: `${data.many} in which the role's own call and first arrival are recorded; roles in the order of their names`,
            },
          ],
    section: {
      id: `${data.id}-arrivals`,
      title: 'Help: call to arrival',
      records: `${plain(data.total)} ${data.many}.`,
      definition: `From the first call for a role, or from the first call for help, to the first recorded arrival of that role. A role that came uncalled has no length of its own. ${BANDS_SAID}`,
      blocks: [
        table('called-to-arrival', "From the role's own call", `Called in (${data.many})`),
        table('help-to-arrival', 'From the call for help', `Arrived in (${data.many})`),
      ],
    },
  };
}

/** What is tried first, and in which order. */
export function sequencesSection(data: PartData): { section: Section; figures: Figure[] } {
  const { sequences } = data.answers;
  const firsts = new Map<string, number>();
  for (const { path, n } of sequences) {
    const first = path.split(' > ')[0]!;
    firsts.set(first, (firsts.get(first) ?? 0) + n);
  }
  const list = [...firsts].sort(([a, n], [b, m]) => m - n || (a < b ? -1 : 1));
  const big = list.filter(([, n]) => n >= FEWEST);
  const others = list.filter(([, n]) => n < FEWEST).reduce((sum, [, n]) => sum + n, 0);
  const counts = [...big.map(([, n]) => n), ...(others > 0 ? [others] : [])];
  const shown = partition(counts);
  const rows = counts.map((_, at) => [
    at < big.length ? data.labels.path(big[at]![0]) : 'Others together',
    shown[at] === null ? WITHHELD : shareText({ kind: 'exact', hits: shown[at]!, of: data.total }),
  ]);
  const paths = sequences
    .filter(({ n, path }) => n >= FEWEST && path !== 'none recorded')
    .sort((a, b) => b.n - a.n || (a.path < b.path ? -1 : 1))
    .slice(0, 12);
  return {
    figures: rows.every(([, told]) => told === WITHHELD)
      ? []
      : [
          {
            label: 'Tried first',
            value: rows
              .filter(([, told]) => told !== WITHHELD)
              .slice(0, 3)
              .map(([label, told]) => `${label} ${told}`)
              .join('; '),
            counted: `first manoeuvre begun in each of the ${data.many}`,
          },
        ],
    section: {
      id: `${data.id}-sequences`,
      title: 'Manoeuvres: what is tried first, and in which order',
      records: `${plain(data.total)} ${data.many}.`,
      definition:
        'Manoeuvres in the order in which they were begun, as called out; the hand that goes in is not one of them, episiotomy is. Sequences: the first three, "more" where others followed; their numbers as bands. What is common is not what is right.',
      blocks: [
        {
          kind: 'table',
          caption: 'First',
          columns: ['Manoeuvre', data.many.replace(/^./, (c) => c.toUpperCase())],
          rows,
        },
        {
          kind: 'table',
          caption: `The first three, where ${FEWEST} ${data.many} or more have the same; the most frequent first`,
          columns: ['Sequence', data.many.replace(/^./, (c) => c.toUpperCase())],
          rows: paths.map(({ path, n }) => [data.labels.path(path), band(n)!]),
        },
      ],
    },
  };
}

/** How long each was tried. */
export function manoeuvresSection(data: PartData): { section: Section; figures: Figure[] } {
  const rows = [...data.answers.manoeuvres]
    .sort((a, b) => b.begun - a.begun || (a.code < b.code ? -1 : 1))
    .filter(({ begun }) => begun >= FEWEST)
    .map((row) => [
      data.labels.code(row.code),
      band(row.begun)!,
      band(row.timed) ?? WITHHELD,
      ...lengthCells(row, row.timed),
    ]);
  return {
    figures: [],
    section: {
      id: `${data.id}-manoeuvres`,
      title: 'How long each manoeuvre was tried',
      records: `${plain(data.total)} ${data.many}.`,
      definition: `The first time in each record that a manoeuvre was begun, from its start to its end or outcome as called out; where no end was called out it is not timed. Manoeuvres tried in fewer than ${FEWEST} ${data.many} are not shown. ${BANDS_SAID}`,
      blocks: [
        {
          kind: 'table',
          caption: 'Length of the first try',
          columns: ['Manoeuvre', `Tried in (${data.many})`, 'Timed in', 'Median', 'Quartiles'],
          rows,
        },
      ],
    },
  };
}
