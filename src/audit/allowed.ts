import { FIELD_GROUPS, FIELDS } from '../core/facts/completeness.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import intervals from './intervals.json' with { type: 'json' };
import { TABLES, type Column, type FlatRows, type ListName, type TableName } from './tables.ts';

/** Stands for a code or a role that a unit added itself: its name is free text and stays out. */
export const OWN_CODE = 'own-code';
export const OWN_ROLE = 'own-role';
export const NO_UNIT = 'not stated';

/** Intervals by the ids that facts/intervals.ts gives them; those of roles have a row of their own. */
export const INTERVALS: readonly { id: string; label: string }[] = intervals.intervals;

/** A unit's name as the person who runs the audit gives it: letters, digits, spaces and hyphens, 40 at most. */
export const isUnitName = (name: string): boolean => /^[\p{L}\p{N}][\p{L}\p{N} -]{0,39}$/u.test(name);
const isPseudonym = (value: string) => /^[0-9a-f]{16}$/.test(value);
export const isMonth = (value: string): boolean => /^\d{4}-(0[1-9]|1[0-2])$/.test(value);

/** What a text of the tables may be: the lists of tables.json and the vocabulary that ships with the app. */
export interface Allowed {
  lists: ReadonlyMap<ListName, (value: string) => boolean>;
  code: (code: string) => string;
  role: (role: string | undefined) => string | null;
  group: (code: string) => string;
}

/**
 * @param vocabulary the one that ships with the app, without any unit's words.
 * @param units names that the person who runs the audit gave.
 */
export function allowedBy(vocabulary: Vocabulary, units: readonly string[]): Allowed {
  const codes = new Set([...vocabulary.codes.values()].filter(({ free }) => !free).map(({ code }) => code));
  const roles = new Set(vocabulary.roles.map(({ role }) => role));
  const groups = new Set(['other', ...[...vocabulary.codes.values()].map(({ group }) => group as string)]);
  const of = (values: Iterable<string>) => {
    const set = new Set(values);
    return (value: string) => set.has(value);
  };
  return {
    lists: new Map<ListName, (value: string) => boolean>([
      ['pseudonyms', isPseudonym],
      ['units', of([NO_UNIT, ...units])],
      ['months', isMonth],
      ['codes', of([...codes, OWN_CODE])],
      ['groups', of(groups)],
      ['roles', of([...roles, OWN_ROLE])],
      ['intervals', of(INTERVALS.map(({ id }) => id))],
      ['fields', of(FIELDS.map(({ id }) => id))],
      ['field groups', of(FIELD_GROUPS.map(({ id }) => id))],
    ]),
    code: (code) => (codes.has(code) ? code : OWN_CODE),
    role: (role) => (role === undefined || role === '' ? null : roles.has(role) ? role : OWN_ROLE),
    group: (code) => (codes.has(code) ? vocabulary.codes.get(code)!.group : 'other'),
  };
}

function fits({ type, of, null: mayLack }: Column, value: unknown, { lists }: Allowed): boolean {
  if (value === null) return mayLack === true;
  switch (type) {
    case 'boolean':
      return typeof value === 'boolean';
    case 'integer':
      return Number.isInteger(value);
    case 'number':
      return typeof value === 'number' && Number.isFinite(value);
    case 'text':
      if (typeof value !== 'string' || of === undefined) return false;
      return Array.isArray(of) ? of.includes(value) : lists.get(of)!(value);
  }
}

/**
 * Whether the rows hold the listed columns and nothing else, each with a value that its column allows.
 * @throws an Error that names table and column, never the value: the message may be printed.
 */
export function checkRows(rows: FlatRows, allowed: Allowed): void {
  for (const { name, columns } of TABLES) {
    for (const row of rows[name as TableName] as object[]) {
      const cells = row as Record<string, unknown>;
      if (Object.keys(row).length !== columns.length)
        throw new Error(
          `A row of the table ${name} holds other columns than are listed. Nothing was written.`,
        );
      for (const column of columns) {
        if (fits(column, cells[column.name], allowed)) continue;
        throw new Error(
          `The column ${column.name} of the table ${name} got a value that its list does not allow. Nothing was written.`,
        );
      }
    }
  }
}
