import { appendFileSync } from 'node:fs';
import { join } from 'node:path';
import { TABLES, type FlatRows, type TableName } from '../../audit/tables.ts';

const FLUSH_CHARACTERS = 1 << 20;

const cell = (value: string | number | boolean | null): string =>
  value === null ? '' : typeof value === 'string' ? `"${value}"` : String(value);

/**
 * Writes rows as CSV, one file a table; values are listed ones, so no quoting inside can be needed. A last column
 * says which copy of a record a row comes from; it reaches no table.
 */
export class CsvParts {
  private readonly held = new Map<TableName, string[]>();
  private size = 0;

  constructor(
    private readonly folder: string,
    private readonly name: string,
  ) {}

  add(rows: FlatRows, copy: number): void {
    for (const { name, columns } of TABLES) {
      const lines = this.held.get(name) ?? [];
      this.held.set(name, lines);
      for (const row of rows[name]) {
        const cells = row as unknown as Record<string, string | number | boolean | null>;
        const line = `${columns.map((column) => cell(cells[column.name]!)).join(',')},${copy}\n`;
        lines.push(line);
        this.size += line.length;
      }
    }
    if (this.size > FLUSH_CHARACTERS) this.flush();
  }

  flush(): void {
    for (const [table, lines] of this.held) {
      if (lines.length > 0)
        appendFileSync(join(this.folder, `${table}-${this.name}.csv`), lines.join(''), { mode: 0o600 });
    }
    this.held.clear();
    this.size = 0;
  }
}
