import type { Entry } from '../../core/entry.ts';
import {
  choiceText,
  isChoice,
  numberText,
  saidByOthers,
  SHORT_ORDER,
  slotInfo,
  type AnySlot,
} from '../../core/slots.ts';
import { codeInfo } from '../../core/vocabulary/code-info.ts';
import { filled } from '../../core/vocabulary/entry-label.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';

/**
 * The few words that name an entry on the strip, where letters are 2 cm high: the meaning in full, the
 * wording short. `unclear` and `spoken` are told elsewhere.
 */
export function shortLabel(entry: Entry, vocabulary: Vocabulary): string {
  const { short, shortOf, label } = codeInfo(vocabulary, entry.code);
  const own = SHORT_ORDER.find((slot) => isChoice(slot) && shortOf?.[String(entry[slot])] !== undefined);
  const base = (own && shortOf![String(entry[own])]) ?? short ?? label;
  const left = saidByOthers(entry);
  const words: string[] = [];
  const values: Record<string, string> = {};
  for (const slot of SHORT_ORDER) {
    const value = entry[slot];
    // "Meconium" alone says that there is some.
    if (value === undefined || value === true || slot === own || slot === 'parts') continue;
    if (base.includes(`{${slot}}`))
      values[slot] =
        typeof value === 'number' ? numberText(slot, value, false) : nameOf(entry, slot, vocabulary);
    else if (!left.has(slot)) words.push(nameOf(entry, slot, vocabulary));
  }
  const named = base.replace(/\{(\w+)\}/g, (_, slot: string) => values[slot] ?? '?');
  return [named, ...words].join(' ');
}

function nameOf(entry: Entry, slot: AnySlot, { roles }: Vocabulary): string {
  const value = entry[slot] as string | number | boolean;
  if (slot !== 'role') return slotWord(slot, value, entry);
  const role = roles.find((known) => known.role === value);
  return role?.short ?? role?.label ?? String(value);
}

/** What stands on a button that chooses this value. */
export function buttonWord(slot: string, value: string | number | boolean): string {
  const { buttonText, buttons } = slotInfo(slot);
  if (buttonText) return buttonText.replace('{value}', String(value));
  return buttons === undefined ? slotWord(slot, value) : String(value);
}

/** The word for one slot: a listed word, or the number or free text as it stands (minus as −). */
export function slotWord(slot: string, value: string | number | boolean, entry?: Entry): string {
  const { shortValues, shortText } = slotInfo(slot);
  const word =
    shortValues?.[String(value)] ??
    (typeof value === 'number' ? numberText(slot, value, false) : choiceText(slot, value));
  return shortText === undefined ? word : filled(shortText, word, entry ?? { code: '' });
}
