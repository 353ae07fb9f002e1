import type { ApgarParts, Entry } from '../entry.ts';
import { ALL_SLOTS, choiceText, numberText, saidByOthers, slotInfo, type AnySlot } from '../slots.ts';
import { codeInfo } from './code-info.ts';
import type { CodeInfo, Vocabulary } from './vocabulary.ts';

export const APGAR_PART_NAMES = slotInfo('parts').parts as Readonly<Record<keyof ApgarParts, string>>;

/** Apgar parts that a person gave: "colour 1, heart rate 2"; empty where there are none. */
export const apgarPartsText = ({ parts }: Entry): string =>
  Object.entries(APGAR_PART_NAMES)
    .flatMap(([part, name]) => {
      const value = parts?.[part as keyof ApgarParts];
      return value === undefined ? [] : [`${name} ${value}`];
    })
    .join(', ');

/** One slot of an entry in the words of the note. */
export function slotText(entry: Entry, slot: AnySlot, info?: CodeInfo, vocabulary?: Vocabulary): string {
  const value = entry[slot];
  if (slot === 'parts') return apgarPartsText(entry);
  if (slot === 'role') return vocabulary?.roles.find(({ role }) => role === value)?.label ?? String(value);
  const own = slot === 'phase' ? undefined : info?.values?.[slot]?.[String(value)];
  const word = own ?? (typeof value === 'number' ? numberText(slot, value) : choiceText(slot, value));
  return filled(slotInfo(slot).text ?? '{value}', word, entry);
}

/** A template with the value and other slots of the entry put in. */
export const filled = (template: string, value: string, entry: Entry): string =>
  template
    .replace('{value}', value)
    .replace(/\{(\w+)\}/g, (_, slot: string) => {
      const other = entry[slot as AnySlot];
      return other === undefined ? '' : choiceText(slot, other);
    })
    .trim();

/** The slots of an entry in plain words, in the order of the schema. */
function details(entry: Entry, info: CodeInfo, vocabulary: Vocabulary): string[] {
  const left = saidByOthers(entry);
  return ALL_SLOTS.filter(
    (slot) => slot !== 'phase' && entry[slot] !== undefined && entry[slot] !== '' && !left.has(slot),
  )
    .map((slot) => slotText(entry, slot, info, vocabulary))
    .filter((words) => words !== '');
}

/** Plain display name of an entry with its slots, e.g. "Suprapubic pressure, from the mother's left – started". */
export function entryLabel(entry: Entry, vocabulary: Vocabulary): string {
  const info = codeInfo(vocabulary, entry.code);
  const { label, group } = info;
  const parts = details(entry, info, vocabulary);
  const joint = group === 'birth' || group === 'manoeuvres' || group === 'pushing' ? ', ' : ': ';
  const named = parts.length > 0 ? `${label}${joint}${parts.join(', ')}` : label;
  return entry.phase ? `${named} – ${choiceText('phase', entry.phase)}` : named;
}
