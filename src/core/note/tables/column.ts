import data from './columns.json';

/** What stands in a cell: a plain number has a full stop and no separators, a time is ISO 8601 with offset. */
export type ColumnType = 'text' | 'choice' | 'whole number' | 'number' | 'boolean' | 'time';

/** Nothing was said: the cell stays empty. */
export type Cell = string | number | boolean | undefined;

/** What columns.json says of a column. */
export interface ColumnInfo {
  type: ColumnType;
  /** UCUM, or the column that holds it; none where the value has no unit. */
  unit?: string;
  /** What a choice can be. */
  choices?: readonly string[];
  meaning: string;
}

export interface Column<Row> extends ColumnInfo {
  name: string;
  cell: (row: Row) => Cell;
}

type Group = 'record' | 'entry' | 'afterSlots' | 'intervals' | 'signatures' | 'columns';
// JSON has no literal types, so a test holds the types of the file against the cells.
const groups = data as unknown as Record<Group, Record<string, ColumnInfo>>;

/** The columns of columns.json in its order, each with how its cell is found. */
export const columnsWith = <G extends Group, Row>(
  group: G,
  cells: Record<keyof (typeof data)[G], (row: Row) => Cell>,
): Column<Row>[] =>
  Object.entries(groups[group]).map(([name, info]) => ({
    ...info,
    name,
    cell: cells[name as keyof (typeof data)[G]],
  }));
