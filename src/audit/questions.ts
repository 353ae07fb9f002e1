import type { Answers, ArrivalsRow, ManoeuvresRow } from './answers.ts';
import { quartiles } from './statistics.ts';
import type { BirthRow, FlatRows, IntervalRow } from './tables.ts';

type Cell = string | number | null;

/** Rows grouped by some cells, in the order in which the groups are met. */
class Groups<Row> {
  private readonly groups = new Map<string, { cells: Cell[]; rows: Row[] }>();
  add(cells: Cell[], row: Row): void {
    const key = cells.join('\u0000');
    const group = this.groups.get(key);
    if (group === undefined) this.groups.set(key, { cells, rows: [row] });
    else group.rows.push(row);
  }
  map<Result>(make: (cells: Cell[], rows: Row[]) => Result): Result[] {
    return [...this.groups.values()].map(({ cells, rows }) => make(cells, rows));
  }
}

function grouped<Row>(rows: Iterable<Row>, cellsOf: (row: Row) => Cell[]): Groups<Row> {
  const groups = new Groups<Row>();
  for (const row of rows) groups.add(cellsOf(row), row);
  return groups;
}

const sum = <Row>(rows: readonly Row[], value: (row: Row) => number): number =>
  rows.reduce((total, row) => total + value(row), 0);

const known = (values: readonly (number | null)[]): number[] =>
  values.filter((value) => value !== null).sort((a, b) => a - b);

function quartileCells(values: readonly (number | null)[]) {
  const { q1, median, q3 } = quartiles(known(values)) ?? { q1: null, median: null, q3: null };
  return { q1, median, q3 };
}

/**
 * Answers every question from the rows in memory. Each answer holds the same rows as its SQL file gives, in any
 * order (tests hold one against the other).
 */
export function answer(rows: FlatRows): Answers {
  const births = new Map(rows.births.map((birth) => [birth.record, birth]));
  const of = (record: string): BirthRow => births.get(record)!;
  const truths = rows.births.filter((b) => b.mode === 'practice' && b.truth_events !== null);
  return {
    births: grouped(rows.births, (b) => [b.mode, b.unit, b.month]).map(([mode, unit, month], of) => ({
      ...({ mode, unit, month } as { mode: 'real'; unit: string; month: string }),
      n: of.length,
    })),
    'head-to-body': grouped(rows.births, (b) => [
      b.mode,
      b.unit,
      b.month,
      b.head_to_body_state,
      b.head_to_body_s,
    ]).map((_, [first, ...more]) => ({
      mode: first!.mode,
      unit: first!.unit,
      month: first!.month,
      state: first!.head_to_body_state,
      seconds: first!.head_to_body_s,
      n: more.length + 1,
    })),
    'head-to-body-quartiles': grouped(
      rows.births.filter((b) => b.head_to_body_state === 'known'),
      (b) => [b.mode, b.unit],
    ).map((_, group) => ({
      mode: group[0]!.mode,
      unit: group[0]!.unit,
      n: group.length,
      ...quartileCells(group.map((b) => b.head_to_body_s)),
    })),
    completeness: grouped(
      rows.births.filter((b) => b.fields_asked > 0),
      (b) => [b.mode, b.month, Math.round((100 * b.fields_recorded) / b.fields_asked)],
    ).map(([, , percent], group) => ({
      mode: group[0]!.mode,
      month: group[0]!.month,
      percent: percent as number,
      n: group.length,
    })),
    fields: grouped(rows.fields, (f) => [of(f.record).mode, f.kind, f.field]).map((_, group) => ({
      mode: of(group[0]!.record).mode,
      kind: group[0]!.kind,
      field: group[0]!.field,
      asked: sum(group, (f) => (f.state === 'does not apply' ? 0 : 1)),
      recorded: sum(group, (f) => (f.state === 'recorded' ? 1 : 0)),
    })),
    arrivals: arrivals(rows.intervals, of),
    sequences: sequences(rows),
    manoeuvres: manoeuvreLengths(rows.intervals, of),
    findings: grouped(rows.births, (b) => [b.mode, b.month, b.gases, b.blood_loss]).map((_, group) => {
      const { mode, month, gases, blood_loss } = group[0]!;
      return { mode, month, gases, blood_loss, n: group.length };
    }),
    truth: grouped(truths, (b) => [b.drill_way, b.month]).map((_, group) => ({
      drill_way: group[0]!.drill_way!,
      month: group[0]!.month,
      drills: group.length,
      events: sum(group, (b) => b.truth_events!),
      recorded: sum(group, (b) => b.truth_recorded!),
      held: sum(group, (b) => b.truth_right!),
      in_time: sum(group, (b) => b.truth_in_time!),
    })),
    'truth-errors': grouped(truths, (b) => [b.drill_way]).map((_, group) => ({
      drill_way: group[0]!.drill_way!,
      drills: group.length,
      time_error_s: quartileCells(group.map((b) => b.truth_error_s)).median,
      compared: known(group.map((b) => b.truth_head_to_body_error_s)).length,
      head_to_body_error_s: quartileCells(group.map((b) => b.truth_head_to_body_error_s)).median,
    })),
    hearing: grouped(rows.hearing, (h) => {
      const { mode, unit, month } = of(h.record);
      return [mode, unit, month, h.result];
    }).map((_, group) => {
      const { mode, unit, month } = of(group[0]!.record);
      const again = sum(group, (h) => (h.listened_again ? 1 : 0));
      return { mode, unit, month, result: group[0]!.result, n: group.length, again };
    }),
  };
}

function arrivals(rows: readonly IntervalRow[], of: (record: string) => BirthRow): ArrivalsRow[] {
  const first = rows.filter(({ measure, number }) => /-to-arrival$/.test(measure) && number === 1);
  return grouped(first, (i) => [of(i.record).mode, i.measure, i.role]).map((_, group) => ({
    mode: of(group[0]!.record).mode,
    measure: group[0]!.measure as ArrivalsRow['measure'],
    role: group[0]!.role!,
    called: group.length,
    arrived: known(group.map(({ seconds }) => seconds)).length,
    ...quartileCells(group.map(({ seconds }) => seconds)),
  }));
}

const inOrder = (rows: readonly IntervalRow[]) => [...rows].sort((a, b) => a.number - b.number);

function sequences({ births, intervals }: FlatRows): Answers['sequences'] {
  const begun = intervals.filter(({ measure, act }) => measure === 'manoeuvre' && act !== 'hand');
  const paths = new Map<string, string>();
  for (const [record, path] of grouped(begun, ({ record }) => [record]).map((_, group) => {
    const codes = inOrder(group).map(({ code }) => code!);
    return [
      group[0]!.record,
      [...codes.slice(0, 3), ...(codes.length > 3 ? ['more'] : [])].join(' > '),
    ] as const;
  }))
    paths.set(record, path);
  return grouped(births, (b) => [b.mode, paths.get(b.record) ?? 'none recorded']).map(([, path], group) => ({
    mode: group[0]!.mode,
    path: path as string,
    n: group.length,
  }));
}

function manoeuvreLengths(rows: readonly IntervalRow[], of: (record: string) => BirthRow): ManoeuvresRow[] {
  const lasting = rows.filter(({ measure, act }) => measure === 'manoeuvre' && act === 'lasting');
  const first = grouped(lasting, ({ record, code }) => [record, code]).map((_, group) => inOrder(group)[0]!);
  const timed = ({ end_by, seconds }: IntervalRow) =>
    end_by === 'called' || end_by === 'outcome' ? seconds : null;
  return grouped(first, (i) => [of(i.record).mode, i.code]).map((_, group) => ({
    mode: of(group[0]!.record).mode,
    code: group[0]!.code!,
    begun: group.length,
    timed: known(group.map(timed)).length,
    ...quartileCells(group.map(timed)),
  }));
}
