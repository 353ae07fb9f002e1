import type { SlotValues } from './slots.ts';

type Slot<K extends keyof SlotValues> = NonNullable<SlotValues[K]>;
/** Which way an act went: absent means that it was simply called out. */
export type Phase = Slot<'phase'>;
export type Side = Slot<'side'>;
export type FetalPosition = Slot<'position'>;
export type Vessel = Slot<'vessel'>;
export type PerinealGrade = Slot<'grade'>;
/** Apgar parts, each 0 to 2, only as a person gave them. */
export type ApgarParts = Slot<'parts'>;

/**
 * One thing that was called out: a code of the vocabulary and its slots. What may stand in a slot is said by
 * slots.json, which slots belong to which code by the code's pack.
 */
export interface Entry extends SlotValues {
  code: string;
  /** The words as spoken, where a slot converts them or could not take them. */
  spoken?: string;
  /** True in a line of several call-outs for the one that needs a person. */
  unclear?: true;
}
