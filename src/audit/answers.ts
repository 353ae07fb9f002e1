/** Answers of the questions, one list of rows each; the same from SQL (questions/*.sql) and from questions.ts. */
export type Mode = 'real' | 'practice';

export interface BirthsRow {
  mode: Mode;
  unit: string;
  month: string;
  n: number;
}
export interface HeadToBodyRow extends BirthsRow {
  state: 'known' | 'not recorded' | 'conflict';
  seconds: number | null;
}
interface QuartileCells {
  q1: number | null;
  median: number | null;
  q3: number | null;
}
export interface HeadToBodyQuartilesRow extends QuartileCells {
  mode: Mode;
  unit: string;
  n: number;
}
export interface CompletenessRow {
  mode: Mode;
  month: string;
  percent: number;
  n: number;
}
export interface FieldsRow {
  mode: Mode;
  kind: string;
  field: string;
  asked: number;
  recorded: number;
}
export interface ArrivalsRow extends QuartileCells {
  mode: Mode;
  measure: 'called-to-arrival' | 'help-to-arrival';
  role: string;
  called: number;
  arrived: number;
}
export interface SequencesRow {
  mode: Mode;
  path: string;
  n: number;
}
export interface ManoeuvresRow extends QuartileCells {
  mode: Mode;
  code: string;
  begun: number;
  timed: number;
}
export interface FindingsRow {
  mode: Mode;
  month: string;
  gases: 'two vessels' | 'one vessel' | 'vessel not stated' | 'none';
  blood_loss: 'measured' | 'estimated' | 'method not stated' | 'not recorded';
  n: number;
}
export interface TruthRow {
  drill_way: string;
  month: string;
  drills: number;
  events: number;
  recorded: number;
  held: number;
  in_time: number;
}
export interface TruthErrorsRow {
  drill_way: string;
  drills: number;
  time_error_s: number | null;
  compared: number;
  head_to_body_error_s: number | null;
}
export interface HearingAnswerRow {
  mode: Mode;
  unit: string;
  month: string;
  result: string;
  n: number;
  again: number;
}

export interface Answers {
  births: BirthsRow[];
  'head-to-body': HeadToBodyRow[];
  'head-to-body-quartiles': HeadToBodyQuartilesRow[];
  completeness: CompletenessRow[];
  fields: FieldsRow[];
  arrivals: ArrivalsRow[];
  sequences: SequencesRow[];
  manoeuvres: ManoeuvresRow[];
  findings: FindingsRow[];
  truth: TruthRow[];
  'truth-errors': TruthErrorsRow[];
  hearing: HearingAnswerRow[];
}
export type QuestionName = keyof Answers;
export const QUESTION_NAMES: readonly QuestionName[] = [
  'births',
  'head-to-body',
  'head-to-body-quartiles',
  'completeness',
  'fields',
  'arrivals',
  'sequences',
  'manoeuvres',
  'findings',
  'truth',
  'truth-errors',
  'hearing',
];
