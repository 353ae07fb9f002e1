import data from './tables.json' with { type: 'json' };

export type ColumnType = 'text' | 'integer' | 'number' | 'boolean';

/** One column: what it holds, in words, and what it may hold. */
export interface Column {
  name: string;
  type: ColumnType;
  /** True where a row may leave it out. */
  null?: true;
  /** Text columns: the values themselves, or the name of a list of allowed.ts. */
  of?: string[] | ListName;
  about: string;
}

/** Lists that are not written into tables.json because they are data of their own, or given by whoever runs the audit. */
export type ListName =
  'pseudonyms' | 'units' | 'months' | 'codes' | 'groups' | 'roles' | 'intervals' | 'fields' | 'field groups';

export interface Table {
  name: TableName;
  about: string;
  columns: Column[];
}

export const TABLE_NAMES = ['births', 'acts', 'intervals', 'fields', 'hearing'] as const;
export type TableName = (typeof TABLE_NAMES)[number];

/** The tables column by column. Writers take their columns from here, so no other can reach a file. */
export const TABLES = data.tables as Table[];
export const TABLES_NOTE: string = data.about;

export interface BirthRow {
  record: string;
  unit: string;
  month: string;
  mode: 'real' | 'practice';
  drill_way: 'recording' | 'live' | 'table-top' | null;
  finished: boolean;
  signed: boolean;
  head_to_body_s: number | null;
  head_to_body_state: 'known' | 'not recorded' | 'conflict';
  head_to_body_estimated: boolean;
  manoeuvres: number;
  gases: 'two vessels' | 'one vessel' | 'vessel not stated' | 'none';
  blood_loss: 'measured' | 'estimated' | 'method not stated' | 'not recorded';
  fields_asked: number;
  fields_recorded: number;
  conflicts: number;
  truth_events: number | null;
  truth_recorded: number | null;
  truth_right: number | null;
  truth_in_time: number | null;
  truth_error_s: number | null;
  truth_head_to_body_error_s: number | null;
}

export interface ActRow {
  record: string;
  number: number;
  kind: string;
  code: string;
  phase: string | null;
  role: string | null;
  at_s: number;
  timing: string;
  source: string;
  added_later: boolean;
  changed: boolean;
}

export interface IntervalRow {
  record: string;
  mode: 'real' | 'practice';
  measure: string;
  number: number;
  code: string | null;
  role: string | null;
  seconds: number | null;
  state: 'known' | 'not recorded' | 'conflict';
  estimated: boolean;
  end_by: 'called' | 'outcome' | 'hand-out' | 'delivery' | 'replaced' | 'followed' | 'not recorded' | null;
  outcome: 'done' | 'failed' | 'succeeded' | 'no effect' | null;
  act: 'lasting' | 'moment' | 'hand' | null;
}

export interface FieldRow {
  record: string;
  mode: 'real' | 'practice';
  field: string;
  kind: string;
  state: 'recorded' | 'not recorded' | 'does not apply';
}

export interface HearingRow {
  record: string;
  mode: 'real' | 'practice';
  unit: string;
  month: string;
  number: number;
  outcome: 'accept' | 'ask' | 'command' | 'unrecognised';
  result:
    | 'stands'
    | 'mended'
    | 'asked and confirmed'
    | 'asked and refused'
    | 'asked, unanswered'
    | 'command'
    | 'unheard'
    | 'unheard, entered by a person';
  listened_again: boolean;
}

/** The rows of one or many records. */
export interface FlatRows {
  births: BirthRow[];
  acts: ActRow[];
  intervals: IntervalRow[];
  fields: FieldRow[];
  hearing: HearingRow[];
}

export const noRows = (): FlatRows => ({ births: [], acts: [], intervals: [], fields: [], hearing: [] });

/** Adds the rows of one record to those of others. */
export function addRows(all: FlatRows, more: FlatRows): void {
  for (const name of TABLE_NAMES) {
    const target = all[name] as unknown[];
    for (const row of more[name]) target.push(row);
  }
}

/** The rows of records of these months, both included; null for no bound. */
export function within(rows: FlatRows, since: string | null, until: string | null): FlatRows {
  if (since === null && until === null) return rows;
  const births = rows.births.filter(
    ({ month }) => (since === null || month >= since) && (until === null || month <= until),
  );
  const records = new Set(births.map(({ record }) => record));
  const of = <Row extends { record: string }>(list: Row[]) =>
    list.filter(({ record }) => records.has(record));
  return {
    births,
    acts: of(rows.acts),
    intervals: of(rows.intervals),
    fields: of(rows.fields),
    hearing: of(rows.hearing),
  };
}
