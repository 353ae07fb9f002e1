import type { ApgarParts, Entry } from '../../core/entry.ts';
import {
  ALL_SLOTS,
  choiceText,
  choiceValues,
  isChoice,
  isNumber,
  isWords,
  slotInfo,
  typedChoice,
  type ChoiceSlotName,
  type NumberSlotName,
  type WordsSlotName,
} from '../../core/slots.ts';
import type { CodeInfo, Ranges, SlotName } from '../../core/vocabulary/vocabulary.ts';
import { typedGrams, typedWithin, type Refused, type Typed, type TypedRange } from './typed-values.ts';

/** Slots that are chosen from a fixed set of values, and those that are typed. */
export type ChoiceSlot = ChoiceSlotName;
export type TypedSlot = NumberSlotName | WordsSlotName;
export type PartName = keyof ApgarParts;
export const PARTS = Object.keys(slotInfo('parts').parts!) as PartName[];

/**
 * What a form holds while a person fills it in: text as typed, choices by name; '' is nothing stated.
 * `baseExcessAs` is how the printed figure is to be read, because a sign is never guessed; `pco2` is in `pco2Unit`,
 * the weight in `weightUnit`.
 */
export type EntryDraft = Record<Exclude<TypedSlot, 'pco2Mmhg' | 'grams'>, string> & {
  choices: Partial<Record<ChoiceSlot, string>>;
  parts: Partial<Record<PartName, string>>;
  pco2Unit: '' | 'kPa' | 'mmHg';
  baseExcessAs: '' | 'minus' | 'plus' | 'deficit';
  weight: string;
  ounces: string;
  weightUnit: 'g' | 'kg' | 'lb';
};

export type DraftProblem =
  | Refused
  | { kind: 'refused'; why: 'missing' }
  | { kind: 'refused'; why: 'unit-missing' }
  | { kind: 'refused'; why: 'sign-missing' }
  | { kind: 'refused'; why: 'nothing-given' };
export type DraftResult =
  | { kind: 'entry'; entry: Entry }
  | { kind: 'refused'; problems: Partial<Record<SlotName | 'form', DraftProblem>> };

/** The values to choose from for a slot of this code, with their words. */
export function choicesOf(slot: ChoiceSlot, info: CodeInfo): { value: string; label: string }[] {
  const values =
    slot === 'phase'
      ? info.phases
      : Object.keys(info.values?.[slot] ?? {}).length
        ? Object.keys(info.values![slot]!)
        : choiceValues(slot);
  return values.map((value) => ({
    value: String(value),
    label: (slot === 'phase' ? undefined : info.values?.[slot]?.[String(value)]) ?? choiceText(slot, value),
  }));
}

/** The slots that a form of this code shows: its own, and those of any code where they are filled. */
export const formSlots = (info: CodeInfo, entry: Partial<Entry>): SlotName[] => [
  ...info.slots,
  ...ALL_SLOTS.filter(
    (slot): slot is SlotName =>
      slotInfo(slot).anyCode === true && entry[slot] !== undefined && !info.slots.includes(slot as SlotName),
  ),
];

/** The form's state for an entry as it stands. */
export function draftOf(entry: Partial<Entry>): EntryDraft {
  const typed = (value: number | undefined) => (value === undefined ? '' : String(value));
  const choices: EntryDraft['choices'] = {};
  for (const slot of ALL_SLOTS.filter(isChoice)) {
    if (entry[slot] !== undefined) choices[slot] = String(entry[slot]);
  }
  const asTyped = Object.fromEntries(
    ALL_SLOTS.filter((slot) => isNumber(slot) || isWords(slot)).map((slot) => [
      slot,
      String(entry[slot] ?? ''),
    ]),
  ) as Record<TypedSlot, string>;
  const be = entry.baseExcess;
  return {
    ...asTyped,
    choices,
    parts: Object.fromEntries(
      Object.entries(entry.parts ?? {}).map(([name, value]) => [name, String(value)]),
    ),
    pco2: typed(entry.pco2 ?? entry.pco2Mmhg),
    pco2Unit: entry.pco2 !== undefined ? 'kPa' : entry.pco2Mmhg !== undefined ? 'mmHg' : '',
    baseExcess: be === undefined ? '' : typed(Math.abs(be)),
    baseExcessAs: be === undefined || be === 0 ? '' : be < 0 ? 'minus' : 'plus',
    weight: typed(entry.grams),
    ounces: '',
    weightUnit: 'g',
  };
}

/**
 * The entry that a filled-in form says, or why it cannot be taken, slot by slot. A value out of range,
 * without its unit or its sign is refused: it never reaches its slot.
 * @param fixed slots that the place of the form states (the minute, the vessel).
 * @param slotsShown the slots that the form has, where it has more than the code's own.
 */
export function readDraft(
  draft: EntryDraft,
  info: CodeInfo,
  ranges: Ranges,
  fixed: Partial<Entry> = {},
  slotsShown: readonly SlotName[] = info.slots,
): DraftResult {
  const problems: Partial<Record<SlotName | 'form', DraftProblem>> = {};
  const slots: Record<string, unknown> = {};
  const spoken: string[] = [];
  const keep = (slot: SlotName, found: Typed): void => {
    if (found.kind === 'refused') problems[slot] = found;
    if (found.kind === 'value') slots[slot] = found.value;
  };
  const range = ([min, max]: [number, number]): TypedRange => ({ min, max });

  for (const slot of slotsShown) {
    if (Object.hasOwn(fixed, slot)) continue;
    if (isChoice(slot)) {
      const value = draft.choices[slot];
      if (value) slots[slot] = typedChoice(slot, value);
    } else if (slot === 'parts') {
      const given = PARTS.filter((name) => draft.parts[name]);
      if (given.length > 0) {
        slots.parts = Object.fromEntries(given.map((name) => [name, Number(draft.parts[name])]));
      }
    } else if (slot === 'pco2') readPco2(draft, ranges, keep, problems);
    else if (slot === 'baseExcess') {
      const said = readBaseExcess(draft, range(ranges.baseExcess), keep, problems);
      if (said) spoken.push(said);
    } else if (slot === 'grams') {
      const { weightUnit, weight, ounces } = draft;
      keep(slot, typedGrams(weightUnit, weight, ounces, range(ranges.grams)));
      if (slots.grams !== undefined && weightUnit === 'kg') spoken.push(`${weight.trim()} kg`);
      if (slots.grams !== undefined && weightUnit === 'lb')
        spoken.push(`${weight.trim()} lb ${ounces.trim() || 0} oz`);
    } else if (isNumber(slot) && slot !== 'pco2Mmhg') {
      keep(slot, typedWithin(draft[slot], range(ranges[slot]), { whole: slotInfo(slot).number!.whole }));
    } else if (isWords(slot) && draft[slot].trim()) slots[slot] = draft[slot].trim();
  }
  if (info.phases.length > 0 && draft.choices.phase) slots.phase = draft.choices.phase;
  for (const slot of info.required) {
    if (slots[slot] === undefined && fixed[slot] === undefined)
      problems[slot] ??= { kind: 'refused', why: 'missing' };
  }
  if (info.slots.includes('ph') && Object.keys({ ...slots, ...problems }).length === 0) {
    problems.form ??= { kind: 'refused', why: 'nothing-given' };
  }
  if (Object.keys(problems).length > 0) return { kind: 'refused', problems };
  const entry = {
    code: info.code,
    ...fixed,
    ...slots,
    ...(spoken.length ? { spoken: spoken.join(', ') } : {}),
  };
  return { kind: 'entry', entry: entry as Entry };
}

type Keep = (slot: SlotName, found: Typed) => void;
type Problems = Partial<Record<SlotName | 'form', DraftProblem>>;

function readPco2(draft: EntryDraft, ranges: Ranges, keep: Keep, problems: Problems): void {
  if (draft.pco2.trim() === '') return;
  if (draft.pco2Unit === '') {
    problems.pco2 = { kind: 'refused', why: 'unit-missing' };
    return;
  }
  const slot = draft.pco2Unit === 'kPa' ? 'pco2' : 'pco2Mmhg';
  const [min, max] = ranges[slot];
  const found = typedWithin(draft.pco2, { min, max });
  if (found.kind === 'refused') problems.pco2 = found;
  else keep(slot, found);
}

/** @returns the words to keep where the printed figure was a deficit. */
function readBaseExcess(draft: EntryDraft, range: TypedRange, keep: Keep, problems: Problems): string | null {
  const typed = draft.baseExcess.trim().replace(/^[−–]/, '-');
  if (typed === '') return null;
  const found = typedWithin(typed, { min: -Infinity, max: Infinity });
  if (found.kind !== 'value') {
    keep('baseExcess', found);
    return null;
  }
  const signed = /^[+-]/.test(typed);
  const as = draft.baseExcessAs || (found.value === 0 ? 'plus' : '');
  // A sign typed and another one chosen: which one is meant is the person's to say.
  if (as === '' ? !signed : signed && as !== (found.value < 0 ? 'minus' : 'plus')) {
    problems.baseExcess = { kind: 'refused', why: 'sign-missing' };
    return null;
  }
  const size = Math.abs(found.value);
  const value = as === '' ? found.value : as === 'plus' ? size : size === 0 ? 0 : -size;
  if (value < range.min || value > range.max) {
    problems.baseExcess = { kind: 'refused', why: 'out-of-range', typed, range };
    return null;
  }
  keep('baseExcess', { kind: 'value', value });
  return as === 'deficit' ? `base deficit ${size}` : null;
}
