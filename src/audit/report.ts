import type { Answers, Mode } from './answers.ts';
import { beforeAfter } from './sections/before-after.ts';
import { arrivalsSection, manoeuvresSection, sequencesSection } from './sections/acts.ts';
import { completenessSection, findingsSection } from './sections/completeness.ts';
import { headToBodySection } from './sections/head-to-body.ts';
import { hearingSection } from './sections/hearing.ts';
import { truthSection } from './sections/truth.ts';
import { partData, type PartData } from './part-data.ts';
import type { Figure, Part, Report, ReportOptions, Section } from './report-model.ts';
import { FEWEST } from './withhold.ts';
import { plain } from './words.ts';

const TITLE = 'What our records say of our practice';

/** Printed with every report. */
export const CAUTIONS = [
  'No ranking of people and no benchmark of safety: it says what was recorded, not how well anybody worked. A change in a figure may be a change in recording.',
  `Counts of one to four records are withheld, and so is every count from which one could be worked out; months are pooled until a point has ${FEWEST} records. Of two reports over almost the same months the difference can still tell of single records: hand out one of them.`,
  'Drills and births are never counted together.',
];

/** The whole report from the answers; small cells are withheld here, before anything is shown or written. */
export function buildReport(answers: Answers, options: ReportOptions): Report {
  const months = answers.births.map(({ month }) => month).sort();
  const count = (mode: Mode) => answers.births.reduce((sum, b) => sum + (b.mode === mode ? b.n : 0), 0);
  const told = (n: number, one: string, many: string) =>
    n > 0 && n < FEWEST ? `fewer than ${FEWEST} ${many}` : `${plain(n)} ${n === 1 ? one : many}`;
  const period = months.length === 0 ? 'no month' : `${months[0]} to ${months.at(-1)}`;
  const asked = [
    ...(options.since === undefined ? [] : [`from ${options.since} on`]),
    ...(options.until === undefined ? [] : [`up to ${options.until}`]),
  ].join(', ');
  return {
    title: TITLE,
    facts: [
      `Made on ${options.madeOn} from ${options.source}.`,
      `Months: ${period}${asked === '' ? '' : ` (asked for: ${asked})`}. Records: ${told(count('real'), 'birth', 'births')}, ${told(count('practice'), 'drill', 'drills')}.`,
      ...(options.change === undefined
        ? []
        : [`Compared before and from ${options.change} on, as a person asked.`]),
      ...(options.leftOut ?? []),
    ],
    parts: (['real', 'practice'] as const).map((mode) => part(partData(answers, mode, options))),
    cautions: CAUTIONS,
  };
}

function part(data: PartData): Part {
  const title = data.mode === 'real' ? 'Births' : 'Drills';
  const id = data.mode === 'real' ? 'births' : 'drills';
  if (data.total < FEWEST) {
    const told =
      data.total === 0
        ? `No ${data.many} in this period.`
        : `Fewer than ${FEWEST} ${data.many}: nothing is shown.`;
    const section = { id: `${id}-none`, title, records: told, definition: '', blocks: [] };
    return { id, title, figures: [], sections: [section] };
  }
  const made: { section: Section; figures: Figure[] }[] = [
    headToBodySection(data),
    ...(data.mode === 'practice' ? [truthSection(data)] : []),
    completenessSection(data),
    arrivalsSection(data),
    sequencesSection(data),
    manoeuvresSection(data),
    findingsSection(data),
    ...(data.change === null ? [] : [beforeAfter(data)]),
    hearingSection(data),
  ];
  return {
    id,
    title,
    figures: made.flatMap(({ figures }) => figures),
    sections: made.map(({ section }) => section),
  };
}
