import type { FieldState } from '../../facts/completeness.ts';
import { knownText, logged } from '../../facts/logged.ts';
import type { Interval } from '../../facts/types.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { authorText } from '../lines.ts';
import { NOT_RECORDED, type Block, type NoteLine, type Pair, type Section } from '../model.ts';
import page from '../page.json';
import { phrase, roleName } from '../phrase.ts';
import { madeText, pageTime } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** Findings, team, baby, mother and what was explained: what stands in the log and in typed fields, no more. */
export function pageSections(parts: NoteParts): Section[] {
  return page.sections.flatMap(({ id, title, groups, fields }): Section[] => {
    const team = id === 'team' ? teamTable(parts) : [];
    const pairs = [
      ...entryPairs(parts, (group) => groups.includes(group) || (id === 'other' && !PLACED.has(group))),
      ...fieldPairs(parts, fields),
    ];
    const blocks: Block[] = [...team, ...(pairs.length > 0 ? [{ kind: 'pairs', pairs } as const] : [])];
    return blocks.length === 0 ? [] : [{ id, title, half: true, blocks }];
  });
}

const PLACED = new Set<string>([
  page.keyTimes.group,
  ...page.besideManoeuvres,
  ...page.sections.flatMap(({ groups }) => groups),
]);
/** Codes that stand in a table of their own. */
const IN_TABLES = new Set([...page.keyTimes.also, ...Object.values(page.team)]);

/** One row for each code of these groups that was called out, with every entry of it. */
export function entryPairs(
  parts: NoteParts,
  wanted: (group: string) => boolean,
  shown: ReadonlySet<string> = IN_TABLES,
): Pair[] {
  const { lines, vocabulary } = parts;
  const byCode = new Map<string, NoteLine[]>();
  for (const line of lines) {
    const { status, entry } = line.entry;
    if (status !== 'logged' || shown.has(entry.code) || !wanted(codeInfo(vocabulary, entry.code).group))
      continue;
    byCode.set(entry.code, [...(byCode.get(entry.code) ?? []), line]);
  }
  const order = [...vocabulary.codes.keys()];
  const place = (code: string) => (order.includes(code) ? order.indexOf(code) : order.length);
  return [...byCode]
    .sort(([a], [b]) => place(a) - place(b))
    .map(([code, told]) => ({
      label: codeInfo(vocabulary, code).label,
      value: told.map((line) => valueText(line, codeInfo(vocabulary, code).label, parts)).join('; '),
    }));
}

/** "4200 g, 9 lb 4.2 oz (14:12:10)": what the entry gives, its time, and what is to be said of it. */
function valueText(line: NoteLine, label: string, { view, vocabulary }: NoteParts): string {
  const { entry, addedLater } = line.entry;
  const whole = phrase(entry, vocabulary);
  const value = (whole.startsWith(label) ? whole.slice(label.length) : whole).replace(/^[:,\u2013 ]+/, '');
  const said = entry.spoken === undefined ? '' : ` (said: \u201c${entry.spoken}\u201d)`;
  const when = [
    pageTime(view, line.entry.atMs),
    ...pageMarks(line),
    ...(addedLater ? ['added later'] : []),
  ].join(', ');
  return value === '' && said === '' ? when : `${value}${said} (${when})`.trim();
}

/** Whose "yes" confirmed an entry is told in the log. */
const pageMarks = ({ marks }: NoteLine) => marks.filter((mark) => !mark.startsWith('confirmed by'));

/** Fields of these groups that somebody typed, with who and when. */
export function fieldPairs({ facts, view }: NoteParts, groups: readonly string[]): Pair[] {
  const fields = facts.completeness.groups.filter(({ id }) => groups.includes(id)).flatMap((g) => g.fields);
  return fields.flatMap(({ field, typed }: FieldState): Pair[] => {
    if (typed === undefined) return [];
    const { by, madeAt } = view.fields[field.id]!;
    return [
      {
        label: field.label,
        value: field.unit === undefined ? typed : `${typed} ${field.unit}`,
        remark: `typed in by ${authorText(by)}, ${madeText(madeAt)}`,
      },
    ];
  });
}

/** Who was called and who came, in the order in which they are first named. */
function teamTable(parts: NoteParts): Block[] {
  const { view, facts, vocabulary, lines } = parts;
  const calls = logged(view, page.team.called);
  const arrivals = logged(view, page.team.arrived);
  const roles = new Set(
    logged(view)
      .filter(({ entry }) => entry.code === page.team.called || entry.code === page.team.arrived)
      .map(({ entry }) => entry.role ?? ''),
  );
  const times = (entries: typeof calls) =>
    entries
      .map((e) => {
        const line = lines.find(({ entry }) => entry.entryId === e.entryId)!;
        const marks = [...pageMarks(line), ...(e.addedLater ? ['added later'] : [])];
        return marks.length === 0
          ? pageTime(view, e.atMs)
          : `${pageTime(view, e.atMs)} (${marks.join(', ')})`;
      })
      .join('; ') || NOT_RECORDED;
  const rows = [...roles].map((role) => {
    const of = (entries: typeof calls) => entries.filter(({ entry }) => (entry.role ?? '') === role);
    return [
      roleName(role, vocabulary),
      times(of(calls)),
      times(of(arrivals)),
      sinceText(facts.intervals, role),
    ];
  });
  if (rows.length === 0) return [];
  return [{ kind: 'table', table: { columns: ['Who', 'Called', 'Arrived', 'Call to arrival'], rows } }];
}

/** "2:48; 2:52 after help was called". */
function sinceText(intervals: readonly Interval[], role: string): string {
  const lengthOf = ({ value, marks }: Interval) => {
    if (value.kind === 'conflict') return 'CONFLICT';
    if (value.kind !== 'known') return null;
    return [knownText(value), ...marks].join(', ');
  };
  const own = intervals.filter(({ id }) => id === `called-to-${role}`).map(lengthOf);
  const help = intervals
    .filter(({ id }) => id.startsWith(`help-to-${role}-`))
    .map(lengthOf)
    .map((length) => (length === null ? null : `${length} after help`));
  return [...own, ...help].filter((length) => length !== null).join('; ') || NOT_RECORDED;
}
