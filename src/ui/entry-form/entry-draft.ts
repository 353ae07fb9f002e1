import type { ApgarParts, Entry } from '../../core/entry.ts';
import type { CodeInfo, Ranges, SlotName } from '../../core/vocabulary/vocabulary.ts';
import { typedGrams, typedWithin, type Refused, type Typed, type TypedRange } from './typed-values.ts';

/** Slots that are chosen from a fixed set of values. */
export type ChoiceSlot =
  | 'phase'
  | 'side'
  | 'babySide'
  | 'position'
  | 'present'
  | 'style'
  | 'direction'
  | 'decision'
  | 'minute'
  | 'vessel'
  | 'state'
  | 'bone'
  | 'grade'
  | 'method';
export type PartName = keyof ApgarParts;
export const PARTS: PartName[] = ['colour', 'heartRate', 'reflex', 'tone', 'breathing'];

/**
 * What a form holds while a person fills it in: text as typed, choices by name; '' is nothing stated.
 * `baseExcessAs` is how the printed figure is to be read, because a sign is never guessed.
 */
export interface EntryDraft {
  choices: Partial<Record<ChoiceSlot, string>>;
  parts: Partial<Record<PartName, string>>;
  score: string;
  ph: string;
  pco2: string;
  pco2Unit: '' | 'kPa' | 'mmHg';
  baseExcess: string;
  baseExcessAs: '' | 'minus' | 'plus' | 'deficit';
  lactate: string;
  weight: string;
  ounces: string;
  weightUnit: 'g' | 'kg' | 'lb';
  millilitres: string;
  role: string;
  drug: string;
  dose: string;
  text: string;
}

export type DraftProblem =
  | Refused
  | { kind: 'refused'; why: 'missing' }
  | { kind: 'refused'; why: 'unit-missing' }
  | { kind: 'refused'; why: 'sign-missing' }
  | { kind: 'refused'; why: 'nothing-given' };
export type DraftResult =
  | { kind: 'entry'; entry: Entry }
  | { kind: 'refused'; problems: Partial<Record<SlotName | 'form', DraftProblem>> };

const STATES: Record<string, string[]> = {
  tone: ['good', 'floppy'],
  'arm-movement': ['normal', 'reduced', 'absent'],
};
const CHOICES: Record<ChoiceSlot, string[]> = {
  phase: ['start', 'stop', 'done', 'failed', 'succeeded'],
  side: ['left', 'right'],
  babySide: ['left', 'right'],
  position: ['LOA', 'ROA', 'LOT', 'ROT', 'LOP', 'ROP', 'OA', 'OP'],
  present: ['true', 'false'],
  style: ['continuous', 'rocking'],
  direction: ['clockwise', 'anticlockwise'],
  decision: ['not-needed'],
  minute: ['1', '5', '10', '15', '20'],
  vessel: ['arterial', 'venous'],
  state: ['good', 'floppy', 'normal', 'reduced', 'absent'],
  bone: ['clavicle', 'humerus'],
  grade: ['intact', '1', '2', '3', '3a', '3b', '3c', '4'],
  method: ['measured', 'weighed', 'estimated'],
};

/** The values to choose from for a slot of this code. */
export function choicesOf(slot: ChoiceSlot, info: CodeInfo): string[] {
  if (slot === 'phase') return [...info.phases];
  if (slot === 'state') return STATES[info.code] ?? CHOICES.state;
  if (slot === 'babySide' && info.code === 'arm-movement') return ['left', 'right', 'both'];
  return CHOICES[slot];
}

export const isChoice = (slot: SlotName | 'phase'): slot is ChoiceSlot => Object.hasOwn(CHOICES, slot);

/** The form's state for an entry as it stands. */
export function draftOf(entry: Partial<Entry>): EntryDraft {
  const typed = (value: number | undefined) => (value === undefined ? '' : String(value));
  const choices: EntryDraft['choices'] = {};
  for (const slot of Object.keys(CHOICES) as ChoiceSlot[]) {
    if (entry[slot] !== undefined) choices[slot] = String(entry[slot]);
  }
  const be = entry.baseExcess;
  return {
    choices,
    parts: Object.fromEntries(
      Object.entries(entry.parts ?? {}).map(([name, value]) => [name, String(value)]),
    ),
    score: typed(entry.score),
    ph: typed(entry.ph),
    pco2: typed(entry.pco2 ?? entry.pco2Mmhg),
    pco2Unit: entry.pco2 !== undefined ? 'kPa' : entry.pco2Mmhg !== undefined ? 'mmHg' : '',
    baseExcess: be === undefined ? '' : typed(Math.abs(be)),
    baseExcessAs: be === undefined || be === 0 ? '' : be < 0 ? 'minus' : 'plus',
    lactate: typed(entry.lactate),
    weight: typed(entry.grams),
    ounces: '',
    weightUnit: 'g',
    millilitres: typed(entry.millilitres),
    role: entry.role ?? '',
    drug: entry.drug ?? '',
    dose: entry.dose ?? '',
    text: entry.text ?? '',
  };
}

/**
 * The entry that a filled-in form says, or why it cannot be taken, slot by slot. A value out of range,
 * without its unit or its sign is refused: it never reaches its slot.
 * @param fixed slots that the place of the form states (the minute, the vessel).
 */
export function readDraft(
  draft: EntryDraft,
  info: CodeInfo,
  ranges: Ranges,
  fixed: Partial<Entry> = {},
): DraftResult {
  const problems: Partial<Record<SlotName | 'form', DraftProblem>> = {};
  const slots: Record<string, unknown> = {};
  const spoken: string[] = [];
  const keep = (slot: SlotName, found: Typed): void => {
    if (found.kind === 'refused') problems[slot] = found;
    if (found.kind === 'value') slots[slot] = found.value;
  };
  const range = ([min, max]: [number, number]): TypedRange => ({ min, max });

  for (const slot of info.slots) {
    if (Object.hasOwn(fixed, slot)) continue;
    if (isChoice(slot)) {
      const value = draft.choices[slot];
      if (value)
        slots[slot] = slot === 'minute' ? Number(value) : slot === 'present' ? value === 'true' : value;
    } else if (slot === 'parts') {
      const given = PARTS.filter((name) => draft.parts[name]);
      if (given.length > 0) {
        slots.parts = Object.fromEntries(given.map((name) => [name, Number(draft.parts[name])]));
      }
    } else if (slot === 'score') keep(slot, typedWithin(draft.score, range(ranges.score), { whole: true }));
    else if (slot === 'ph') keep(slot, typedWithin(draft.ph, range(ranges.ph)));
    else if (slot === 'lactate') keep(slot, typedWithin(draft.lactate, range(ranges.lactate)));
    else if (slot === 'pco2') readPco2(draft, ranges, keep, problems);
    else if (slot === 'baseExcess') {
      const said = readBaseExcess(draft, range(ranges.baseExcess), keep, problems);
      if (said) spoken.push(said);
    } else if (slot === 'grams') {
      const { weightUnit, weight, ounces } = draft;
      keep(slot, typedGrams(weightUnit, weight, ounces, range(ranges.grams)));
      if (slots.grams !== undefined && weightUnit === 'kg') spoken.push(`${weight.trim()} kg`);
      if (slots.grams !== undefined && weightUnit === 'lb')
        spoken.push(`${weight.trim()} lb ${ounces.trim() || 0} oz`);
    } else if (slot === 'millilitres') {
      keep(slot, typedWithin(draft.millilitres, range(ranges.millilitres), { whole: true }));
    } else if (slot === 'role' || slot === 'drug' || slot === 'dose' || slot === 'text') {
      if (draft[slot].trim()) slots[slot] = draft[slot].trim();
    }
  }
  if (info.phases.length > 0 && draft.choices.phase) slots.phase = draft.choices.phase;
  for (const slot of info.required) {
    if (slots[slot] === undefined && fixed[slot] === undefined)
      problems[slot] ??= { kind: 'refused', why: 'missing' };
  }
  if (info.code === 'cord-gas' && Object.keys({ ...slots, ...problems }).length === 0) {
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
