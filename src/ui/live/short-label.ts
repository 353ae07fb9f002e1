import type { Entry } from '../../core/entry.ts';
import { phText } from '../../core/vocabulary/entry-label.ts';
import { text, textFor } from '../messages/text.ts';

/** Slots in the order in which a label names them. `unclear` and `spoken` are told elsewhere. */
const ORDER = [
  'role',
  'vessel',
  'position',
  'side',
  'style',
  'direction',
  'bone',
  'babySide',
  'state',
  'grade',
  'phase',
  'score',
  'minute',
  'ph',
  'baseExcess',
  'pco2',
  'pco2Mmhg',
  'lactate',
  'grams',
  'millilitres',
  'method',
  'drug',
  'dose',
  'text',
] as const satisfies readonly (keyof Entry)[];

/** Slots for which one value has a wording of its own, such as "No meconium". */
const OWN_WORDING = ['phase', 'present', 'decision'] as const satisfies readonly (keyof Entry)[];

/**
 * The few words that name an entry on the strip, where letters are 2 cm high: the meaning in full, the
 * wording short. Codes that a unit added go by `otherwise`, their own name.
 */
export function shortLabel(entry: Entry, otherwise: string = entry.code): string {
  const own = OWN_WORDING.find((slot) => wording(`${entry.code}_${String(entry[slot])}`) !== null);
  const base = (own && wording(`${entry.code}_${String(entry[own])}`)) ?? wording(entry.code) ?? otherwise;
  const words: string[] = [];
  const values: Record<string, string> = {};
  for (const slot of ORDER) {
    const value = entry[slot];
    if (value === undefined || slot === own) continue;
    const word =
      slot === 'role'
        ? textFor('live.shortRole', String(value), slotWord(slot, value as string))
        : slotWord(slot, value as string | number);
    if (base.includes(`{${slot}}`))
      values[slot] = typeof value === 'number' ? plainNumber(value, slot) : word;
    else words.push(word);
  }
  const named = base.replace(/\{(\w+)\}/g, (_, slot: string) => values[slot] ?? '?');
  return [named, ...words].join(' ');
}

const wording = (name: string): string | null => textFor('live.short', name, '') || null;

const plainNumber = (value: number, slot: string): string =>
  (slot === 'ph' ? phText(value) : String(value)).replace('-', '−');

/** The word for one slot: a listed word, or the number or free text as it stands (minus as −). */
export function slotWord(slot: string, value: string | number | boolean): string {
  const plain = typeof value === 'number' ? plainNumber(value, slot) : String(value);
  if (slot === 'role') return textFor('live.role', plain, plain);
  const listed = textFor('live.slot', `${slot}.${plain}`, '');
  if (listed !== '') return listed;
  return textFor('live.slot', slot, '') === ''
    ? plain
    : text(`live.slot.${slot}` as 'live.slot.ph', { value: plain });
}
