import data from './slots.json';

/**
 * The slot schema, read from slots.json: the one place that says which slots an entry can have, what may stand in
 * each, how it is named, asked for and exported. Which slots belong to which code is said by the code's pack.
 * Exactly one of `values`, `numbers`, `yesNo`, `number`, `words`, `parts` says what may stand in a slot.
 */
export interface SlotInfo {
  /** What it holds, for people who read the schema. */
  about: string;
  /** Its name in a form, and on the touch pad. */
  name: string;
  shortName: string;
  /** Beginning of its column's name in tables, where its own name would not do; the unit comes after it. */
  column?: string;
  hint?: string;
  /** What a question about it says; without one the problem's own words. */
  ask?: string;
  /** May stand on any code. */
  anyCode?: boolean;
  /** A choice: value → the words of the note. */
  values?: Readonly<Record<string, string>>;
  /** A choice among numbers, likewise. */
  numbers?: Readonly<Record<string, string>>;
  yesNo?: Readonly<Record<'true' | 'false', string>>;
  /**
   * A number. `range`: plausible, both ends included; `file`: what an imported file may hold at all, `fileWhole`:
   * without fractions; `joined`: "one twenty" can only be 120, `tenths`: "thirty six four" 36.4;
   * `or`: without its unit a number may be this slot's.
   * `unitUnclear`: between these two a number without its unit may be either of two.
   */
  number?: {
    range: readonly number[];
    file: readonly number[];
    whole?: boolean;
    fileWhole?: boolean;
    joined?: boolean;
    tenths?: boolean;
    or?: string;
    decimals?: number;
    signed?: boolean;
    unitUnclear?: readonly number[];
  };
  /** Free words, `longest` in characters; `list`: where suggestions come from, `closed`: nothing else. */
  words?: { longest: number; list?: string; closed?: boolean; long?: boolean };
  /** Several numbers from 0 to 2, each with its name. */
  parts?: Readonly<Record<string, string>>;
  /** On the pad a number is chosen from buttons up to this one. */
  buttons?: number;
  buttonText?: string;
  /** UCUM. */
  unit?: string;
  /** How a value reads in the note and on the strip; `{value}` or another slot of the entry. */
  text?: string;
  shortText?: string;
  shortValues?: Readonly<Record<string, string>>;
  /** Labels name slots in the order of the schema; on the strip this one comes after that one. */
  shortAfter?: string;
  /** Slots that a label leaves out where this one is there, since it says the same. */
  insteadOf?: readonly string[];
  /** Which part of an Observation it becomes. */
  fhir?: string;
}

/** A reason to ask: which slots it is about, what the question says, how the review and the note tell it. */
export interface ProblemInfo {
  slots?: readonly string[];
  ask: string;
  told: string;
  note: string;
}

type Schema = typeof data.slots;
export type AnySlot = keyof Schema;
/** Slots of an entry besides `code` and `phase`. */
export type SlotName = Exclude<AnySlot, 'phase'>;
export type Problem = keyof typeof data.problems;

type NumberOf<K> = K extends `${infer N extends number}` ? N : never;
type ValueOf<S> = S extends { values: infer V }
  ? keyof V
  : S extends { numbers: infer N }
    ? NumberOf<keyof N>
    : S extends { yesNo: unknown }
      ? boolean
      : S extends { number: unknown }
        ? number
        : S extends { parts: infer P }
          ? { [K in keyof P]?: number }
          : string;

/** Every slot with the type that its schema gives it, all of them optional. */
export type SlotValues = { [K in AnySlot]?: ValueOf<Schema[K]> };
/** Slots whose values have a type. */
type SlotsOf<T> = { [K in AnySlot]: Schema[K] extends T ? K : never }[AnySlot];
export type NumberSlotName = SlotsOf<{ number: unknown }>;
export type WordsSlotName = SlotsOf<{ words: unknown }>;
export type ChoiceSlotName =
  SlotsOf<{ values: unknown }> | SlotsOf<{ numbers: unknown }> | SlotsOf<{ yesNo: unknown }>;

// The compiler checks the file against the description above.
const schema: Readonly<Record<AnySlot, SlotInfo>> = data.slots;
const problems: Readonly<Record<Problem, ProblemInfo>> = data.problems;

export const ALL_SLOTS = Object.keys(schema) as AnySlot[];
export const PROBLEMS = Object.keys(problems) as Problem[];

/** A slot that this version does not know (a newer record) goes by its own name. */
export const slotInfo = (slot: string): SlotInfo =>
  (Object.hasOwn(schema, slot) ? schema[slot as AnySlot] : undefined) ?? {
    about: '',
    name: slot,
    shortName: slot,
    words: { longest: 4000 },
  };

export const problemInfo = (problem: Problem) => problems[problem];
/** The slots that a question of this kind can be about. */
/** What is asked where this slot is missing. */
export const problemOfSlot = (slot: SlotName): Problem =>
  PROBLEMS.find((problem) => problems[problem].slots?.includes(slot)) ?? 'value-missing';
export const slotsOfProblem = (problem: Problem): SlotName[] => (problems[problem].slots ?? []) as SlotName[];

const choices = ({ values, numbers, yesNo }: SlotInfo) => values ?? numbers ?? yesNo;
export const isChoice = (slot: string): slot is ChoiceSlotName => choices(slotInfo(slot)) !== undefined;
export const isNumber = (slot: string): slot is NumberSlotName => slotInfo(slot).number !== undefined;
export const isWords = (slot: string): slot is WordsSlotName => slotInfo(slot).words !== undefined;

/** The values of a choice in the type that an entry holds them in. */
export const choiceValues = (slot: ChoiceSlotName): (string | number | boolean)[] =>
  Object.keys(choices(slotInfo(slot)) ?? {}).map((value) => typedChoice(slot, value));

/** "5" as the number 5 and "true" as true where the slot holds such. */
export function typedChoice(slot: ChoiceSlotName, value: string): string | number | boolean {
  const { numbers, yesNo } = slotInfo(slot);
  return numbers ? Number(value) : yesNo ? value === 'true' : value;
}

/** The words of a choice in the note. */
export const choiceText = (slot: string, value: unknown): string =>
  choices(slotInfo(slot))?.[String(value) as 'true'] ?? String(value);

/** Plausible range of a number slot, both ends included. */
export function rangeOf(slot: NumberSlotName): [number, number] {
  const [min, max] = schema[slot].number!.range;
  return [min!, max!];
}

/** Slots in the order in which the strip names them: that of the schema but where it says otherwise. */
export const SHORT_ORDER: readonly AnySlot[] = shortOrder();
function shortOrder(): AnySlot[] {
  const moved = ALL_SLOTS.filter((slot) => schema[slot].shortAfter !== undefined);
  const order = ALL_SLOTS.filter((slot) => !moved.includes(slot));
  for (const slot of moved) order.splice(order.indexOf(schema[slot].shortAfter as AnySlot) + 1, 0, slot);
  return order;
}

/** Slots that a label of this entry leaves out, since another one says the same. */
export const saidByOthers = (entry: object): ReadonlySet<string> =>
  new Set(Object.keys(entry).flatMap((slot) => (slot in schema ? (slotInfo(slot).insteadOf ?? []) : [])));

/** A number as people read it: with its decimals, and minus as −. `signed` puts + before the others, too. */
export function numberText(slot: string, value: number, signed = slotInfo(slot).number?.signed): string {
  const { decimals } = slotInfo(slot).number ?? {};
  const fixed =
    decimals !== undefined && Number(value.toFixed(decimals)) === value
      ? value.toFixed(decimals)
      : String(value);
  return signed && value > 0 ? `+${fixed}` : fixed.replace('-', '\u2212');
}
