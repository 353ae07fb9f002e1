import type { Entry } from '../../core/entry.ts';
import type { Problem } from '../../core/interpret/interpretation.ts';
import { codeInfo } from '../../core/vocabulary/code-info.ts';
import type { CodeInfo, Ranges, SlotName, Vocabulary } from '../../core/vocabulary/vocabulary.ts';

/** A slot as the touch pad fills it: one of a few, a number within its plausible range, or free words. */
export type SlotInput =
  | { kind: 'choice'; slot: SlotName | 'phase'; values: (string | number | boolean)[] }
  | { kind: 'number'; slot: SlotName; range: [number, number]; signed: boolean }
  | { kind: 'words'; slot: SlotName; suggestions: string[] };

const VALUES: Partial<Record<SlotName, (string | number | boolean)[]>> = {
  side: ['left', 'right'],
  babySide: ['left', 'right'],
  position: ['LOA', 'ROA', 'LOT', 'ROT', 'LOP', 'ROP', 'OA', 'OP'],
  present: [true, false],
  style: ['continuous', 'rocking'],
  direction: ['clockwise', 'anticlockwise'],
  decision: ['not-needed'],
  minute: [1, 5, 10, 15, 20],
  score: [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10],
  vessel: ['arterial', 'venous'],
  bone: ['clavicle', 'humerus'],
  grade: ['intact', '1', '2', '3a', '3b', '3c', '3', '4'],
  method: ['estimated', 'measured', 'weighed'],
};

/** Choices that depend on the code. */
const OF_CODE: Record<string, Partial<Record<SlotName, string[]>>> = {
  tone: { state: ['good', 'floppy'] },
  'arm-movement': { state: ['normal', 'reduced', 'absent'], babySide: ['left', 'right', 'both'] },
};

const NUMBERS: Partial<Record<SlotName, keyof Ranges>> = {
  ph: 'ph',
  baseExcess: 'baseExcess',
  pco2: 'pco2',
  pco2Mmhg: 'pco2Mmhg',
  lactate: 'lactate',
  grams: 'grams',
  millilitres: 'millilitres',
};

/** How a slot of a code is filled by touch; null for one that only a form can fill (Apgar parts). */
export function slotInput(
  info: CodeInfo,
  slot: SlotName | 'phase',
  vocabulary: Vocabulary,
): SlotInput | null {
  if (slot === 'phase') return { kind: 'choice', slot, values: [...info.phases] };
  if (slot === 'role') return { kind: 'choice', slot, values: vocabulary.roles.map(({ role }) => role) };
  const values = OF_CODE[info.code]?.[slot] ?? VALUES[slot];
  if (values) return { kind: 'choice', slot, values };
  const range = NUMBERS[slot];
  if (range) {
    return {
      kind: 'number',
      slot,
      range: vocabulary.ranges[range] as [number, number],
      signed: slot === 'baseExcess',
    };
  }
  if (slot === 'drug') return { kind: 'words', slot, suggestions: vocabulary.drugs.map(({ drug }) => drug) };
  return slot === 'dose' || slot === 'text' ? { kind: 'words', slot, suggestions: [] } : null;
}

/** Everything that can be said of this code by touch, phase first. */
export function slotInputs(code: string, vocabulary: Vocabulary): SlotInput[] {
  const info = codeInfo(vocabulary, code);
  const slots: (SlotName | 'phase')[] = info.phases.length > 0 ? ['phase', ...info.slots] : [...info.slots];
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

/** Which slot a question is about. */
export const SLOT_OF_PROBLEM: Partial<Record<Problem, SlotName>> = {
  'side-missing': 'side',
  'minute-missing': 'minute',
  'vessel-missing': 'vessel',
  'sign-missing': 'baseExcess',
};
