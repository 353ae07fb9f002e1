import type { Entry } from '../../entry.ts';
import { ALL_SLOTS, slotInfo, type SlotInfo } from '../../slots.ts';
import type { Cell, Column, ColumnType } from './column.ts';
import data from './columns.json';

/** Words for UCUM symbols in names of columns. A symbol that is not there stands for itself. */
const UNIT_WORDS: Readonly<Record<string, string>> = data.units;

const snake = (name: string): string => name.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);
const lettersOf = (name: string): string => name.toLowerCase().replace(/[^a-z0-9%]/g, '');
const singular = (word: string): string => word.replace(/s$/, '');

/** "grams_per_decilitre" of "g/dL", "per_minute" of "/min"; '' for a bare count or a scale of its own. */
function unitWords(unit: string): string {
  if (/^\{.*\}$/.test(unit) || unit === '[pH]') return '';
  const [above = '', ...below] = unit
    .split('/')
    .map((part) => UNIT_WORDS[part.replace(/[[\]]/g, '')] ?? lettersOf(part));
  return [above, ...below.map((word) => `per_${singular(word)}`)].filter(Boolean).join('_');
}

/**
 * Name of a slot's column: `blood_loss_millilitres` of a slot "bloodLoss" in mL. The unit is left out where the
 * slot's own name ends in it (`seconds`, `pco2Mmhg`).
 */
export function columnName(slot: string, { column = snake(slot), unit = '' }: SlotInfo): string {
  const words = unitWords(unit);
  const endings = [words, singular(words), unit].map(lettersOf).filter((ending) => ending.length > 1);
  const named = endings.some((ending) => lettersOf(column).endsWith(ending));
  return words === '' || named ? column : `${column}_${words}`;
}

function typeOf({ numbers, yesNo, number, words }: SlotInfo): ColumnType {
  if (number) return number.fileWhole ? 'whole number' : 'number';
  if (numbers) return 'whole number';
  if (yesNo) return 'boolean';
  return words ? 'text' : 'choice';
}

/** Whether a value is what the column holds; a record of another version may have another kind of value here. */
function fits(type: ColumnType, value: unknown): value is Cell {
  if (type === 'whole number') return Number.isInteger(value);
  if (type === 'number') return Number.isFinite(value);
  if (type === 'boolean') return typeof value === 'boolean';
  return typeof value === 'string';
}

/** The columns of one slot: one, or one for each part of a slot that has parts. */
export function columnsOf(slot: string, info: SlotInfo): Column<Entry>[] {
  const held = (entry: Entry): unknown => (entry as unknown as Record<string, unknown>)[slot];
  if (info.parts)
    return Object.entries(info.parts).map(([part, label]) => ({
      name: `${columnName(slot, info)}_${snake(part)}`,
      type: 'whole number',
      meaning: `${info.about} ${data.part} ${label}.`,
      cell: (entry) => {
        const value = (held(entry) as Record<string, unknown> | undefined)?.[part];
        return fits('whole number', value) ? value : undefined;
      },
    }));
  const type = typeOf(info);
  // An amount whose unit was said stands beside that unit.
  const beside = /\{(?!value\})(\w+)\}/.exec(info.text ?? '')?.[1];
  const unit = info.unit ?? (info.number && beside ? `see ${snake(beside)}` : undefined);
  return [
    {
      name: columnName(slot, info),
      type,
      ...(unit === undefined ? {} : { unit }),
      ...(info.values ? { choices: Object.keys(info.values) } : {}),
      meaning: info.about,
      cell: (entry) => {
        const value = held(entry);
        return fits(type, value) ? value : undefined;
      },
    },
  ];
}

/** Every slot of the schema in its order, so that a new slot is a new column. */
export const SLOT_COLUMNS: readonly Column<Entry>[] = ALL_SLOTS.flatMap((slot) =>
  columnsOf(slot, slotInfo(slot)),
);

const APART = new Set(['code', 'spoken', 'unclear']);

/** What an entry holds and no column of a slot can show, as JSON: a newer version's slots. Nothing is lost. */
export function otherSlots(entry: Entry): string | undefined {
  const shown = (slot: string, value: unknown): boolean => {
    if (!(ALL_SLOTS as string[]).includes(slot)) return false;
    const info = slotInfo(slot);
    if (!info.parts) return fits(typeOf(info), value);
    return (
      typeof value === 'object' &&
      value !== null &&
      Object.entries(value).every(
        ([part, of]) => Object.hasOwn(info.parts!, part) && fits('whole number', of),
      )
    );
  };
  const left = Object.entries(entry).filter(
    ([slot, value]) => value !== undefined && !APART.has(slot) && !shown(slot, value),
  );
  return left.length === 0 ? undefined : JSON.stringify(Object.fromEntries(left));
}
