/** Which way an act went: absent means that it was simply called out. */
export type Phase = 'start' | 'stop' | 'done' | 'failed' | 'succeeded';
export type Side = 'left' | 'right';
export type FetalPosition = 'LOA' | 'ROA' | 'LOT' | 'ROT' | 'LOP' | 'ROP' | 'OA' | 'OP';
export type Vessel = 'arterial' | 'venous';
export type PerinealGrade = 'intact' | '1' | '2' | '3a' | '3b' | '3c' | '3' | '4';

/** Apgar parts, each 0 to 2, only as a person gave them. */
export interface ApgarParts {
  colour?: number;
  heartRate?: number;
  reflex?: number;
  tone?: number;
  breathing?: number;
}

/**
 * One thing that was called out: a code of the vocabulary and its slots.
 * Which slots belong to which code is data (vocabulary/codes.json).
 * `side` is the mother's; `babySide` is the baby's own.
 */
export interface Entry {
  code: string;
  phase?: Phase;
  side?: Side;
  babySide?: Side | 'both';
  position?: FetalPosition;
  present?: boolean;
  role?: string;
  style?: 'continuous' | 'rocking';
  direction?: 'clockwise' | 'anticlockwise';
  decision?: 'not-needed';
  /** Apgar: minutes after the birth of the whole baby. */
  minute?: 1 | 5 | 10 | 15 | 20;
  /** Apgar total, 0 to 10. */
  score?: number;
  parts?: ApgarParts;
  vessel?: Vessel;
  ph?: number;
  /** mmol/L, negative for a deficit. */
  baseExcess?: number;
  /** kPa. */
  pco2?: number;
  pco2Mmhg?: number;
  /** mmol/L. */
  lactate?: number;
  grams?: number;
  state?: 'good' | 'floppy' | 'normal' | 'reduced' | 'absent';
  bone?: 'clavicle' | 'humerus';
  grade?: PerinealGrade;
  millilitres?: number;
  /** How the blood loss was found, where somebody said so. */
  method?: 'estimated' | 'measured' | 'weighed';
  drug?: string;
  dose?: string;
  text?: string;
  /** The words as spoken, where a slot converts them or could not take them. */
  spoken?: string;
  /** True in a line of several call-outs for the one that needs a person. */
  unclear?: true;
}
