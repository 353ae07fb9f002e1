import type { Figure, Section } from '../report-model.ts';
import { asRunChart, inPool, poolLabel, type PartData } from '../part-data.ts';
import { FEWEST, partition } from '../withhold.ts';
import { percent, plain, WITHHELD } from '../words.ts';

const RESULTS: { result: string; words: string }[] = [
  { result: 'stands', words: 'Logged, and nobody changed it' },
  { result: 'mended', words: 'Logged, then struck, corrected or moved' },
  { result: 'asked and confirmed', words: 'Asked about, confirmed' },
  { result: 'asked and refused', words: 'Asked about, refused' },
  { result: 'asked, unanswered', words: 'Asked about, not answered' },
  { result: 'unheard, entered by a person', words: 'Not understood, entered by a person' },
  { result: 'unheard', words: 'Not understood' },
];

/** Where hearing fails. */
export function hearingSection(data: PartData): { section: Section; figures: Figure[] } {
  const rows = data.answers.hearing.filter(({ result }) => result !== 'command');
  const sum = (of: (row: (typeof rows)[number]) => boolean) =>
    rows.reduce((total, row) => total + (of(row) ? row.n : 0), 0);
  const all = sum(() => true);
  const base = {
    id: `${data.id}-hearing`,
    title: 'Hearing',
    records: `${plain(data.total)} ${data.many}.`,
    definition:
      'Utterances that the device heard, commands and what was typed left out, by what came of them. That nobody changed an entry does not prove it right; in drills Truth against record tells more. Records hold no measure of the noise in the room, so hearing is not told by noise. Units as the person named them who made this report.',
  };
  if (all < FEWEST)
    return {
      figures: [],
      section: { ...base, blocks: [{ kind: 'text', text: 'Nothing was heard by the device.' }] },
    };
  const shown = partition(RESULTS.map(({ result }) => sum((row) => row.result === result)));
  const unitBirths = new Map<string, number>();
  for (const { unit, n } of data.answers.births) unitBirths.set(unit, (unitBirths.get(unit) ?? 0) + n);
  const unitNames = [...unitBirths.keys()].sort();
  const unitShown = partition(unitNames.map((unit) => unitBirths.get(unit)!));
  const standing = (of: (row: (typeof rows)[number]) => boolean): string => {
    const [hits, n] = [sum((row) => of(row) && row.result === 'stands'), sum(of)];
    return n < FEWEST || partition([hits, n - hits])[0] === null ? WITHHELD : percent(hits / n);
  };
  const points = data.pools.flatMap((pool) => {
    const inside = (row: (typeof rows)[number]) => inPool(pool, row.month);
    const [hits, n] = [sum((row) => inside(row) && row.result === 'stands'), sum(inside)];
    if (n < FEWEST || partition([hits, n - hits])[0] === null) return [];
    return [{ label: poolLabel(pool), records: data.birthsIn(pool), value: Math.round((100 * hits) / n) }];
  });
  return {
    figures: [
      {
        label: 'Heard and left as it was',
        value: standing(() => true),
        counted: `of the utterances of all ${data.many}; the rest was mended, asked about or not understood`,
      },
    ],
    section: {
      ...base,
      blocks: [
        {
          kind: 'table',
          caption: 'What came of an utterance',
          columns: ['', 'Share of utterances'],
          rows: RESULTS.map(({ words }, at) => [
            words,
            shown[at] === null ? WITHHELD : percent(shown[at]! / all),
          ]),
        },
        ...(points.length === 0
          ? []
          : [
              {
                kind: 'chart',
                chart: asRunChart(data, 'Logged and left as it was', 'percent', points),
              } as const,
            ]),
        {
          kind: 'table',
          caption: 'Logged and left as it was, by unit',
          columns: ['Unit', 'Share of utterances'],
          rows: unitNames.map((unit, at) => [
            unit,
            unitShown[at] === null ? WITHHELD : standing((row) => row.unit === unit),
          ]),
        },
      ],
    },
  };
}
