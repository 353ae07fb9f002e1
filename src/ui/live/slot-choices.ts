import type { Entry } from '../../core/entry.ts';
import { choiceValues, isChoice, slotInfo, typedChoice, type AnySlot } from '../../core/slots.ts';
import { codeInfo } from '../../core/vocabulary/code-info.ts';
import type { CodeInfo, SlotName, Vocabulary } from '../../core/vocabulary/vocabulary.ts';

/** A slot as the touch pad fills it: one of a few, a number within its plausible range, or free words. */
export type SlotInput =
  | { kind: 'choice'; slot: AnySlot; values: (string | number | boolean)[] }
  | { kind: 'number'; slot: SlotName; range: [number, number]; signed: boolean }
  | { kind: 'words'; slot: SlotName; suggestions: string[] };

/** How a slot of a code is filled by touch; null for one that only a form can fill (Apgar parts). */
export function slotInput(info: CodeInfo, slot: AnySlot, vocabulary: Vocabulary): SlotInput | null {
  if (slot === 'phase') return { kind: 'choice', slot, values: [...info.phases] };
  if (isChoice(slot)) {
    const own = info.values?.[slot];
    const values = own ? Object.keys(own).map((value) => typedChoice(slot, value)) : choiceValues(slot);
    return { kind: 'choice', slot, values };
  }
  const { number, words, buttons } = slotInfo(slot);
  if (number) {
    const [min, max] = vocabulary.ranges[slot as 'grams'];
    if (buttons !== undefined)
      return { kind: 'choice', slot, values: Array.from({ length: buttons - min + 1 }, (_, at) => min + at) };
    return { kind: 'number', slot, range: [min, max], signed: number.signed === true };
  }
  if (!words) return null;
  const listed = listOf(words.list, vocabulary);
  return words.closed
    ? { kind: 'choice', slot, values: listed }
    : { kind: 'words', slot, suggestions: listed };
}

/** The words that the vocabulary offers for a slot. */
function listOf(list: string | undefined, { roles, drugs }: Vocabulary): string[] {
  if (list === 'roles') return roles.map(({ role }) => role);
  return list === 'drugs' ? drugs.map(({ drug }) => drug) : [];
}

/** Everything that can be said of this entry by touch, phase first; slots of any code where they are filled. */
export function slotInputs(entry: Entry, vocabulary: Vocabulary): SlotInput[] {
  const info = codeInfo(vocabulary, entry.code);
  const more = (Object.keys(entry) as SlotName[]).filter(
    (slot) => slotInfo(slot).anyCode && !info.slots.includes(slot),
  );
  const slots: AnySlot[] = [...(info.phases.length > 0 ? (['phase'] as const) : []), ...info.slots, ...more];
  return slots.flatMap((slot) => slotInput(info, slot, vocabulary) ?? []);
}

/** Slots without which the entry would be a question, and that it lacks. */
export function missingSlots(entry: Entry, vocabulary: Vocabulary): SlotName[] {
  return codeInfo(vocabulary, entry.code).required.filter((slot) => entry[slot] === undefined);
}

/** The entry with one slot set, or cleared where the same value is chosen again. */
export function withSlot(entry: Entry, slot: string, value: unknown): Entry {
  const { [slot as 'phase']: before, ...rest } = entry;
  const next = before === value ? rest : { ...rest, [slot]: value };
  const { unclear: _unclear, ...clear } = next as Entry;
  return clear;
}
