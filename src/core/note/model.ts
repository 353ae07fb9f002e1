import type { Facts } from '../facts/derive.ts';
import type { RecordFile } from '../log/events.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';

/** What stands where nobody gave a value. */
export const NOT_RECORDED = 'not recorded';
/** What stands at the top of every page of a drill's note, and in its exports. */
export const PRACTICE_MARK = 'PRACTICE \u2013 NOT A REAL BIRTH';

/** One row of name and value; `remark` says how the value is known. */
export interface Pair {
  label: string;
  value: string;
  remark?: string;
}

/** One entry of the log as a line of the note. */
export interface NoteLine {
  /** Number of the entry in time order, the same in every rendering. */
  number: number;
  entry: EntryView;
  /** "14:02:10", with the date where the day has changed. */
  time: string;
  /** Minutes and seconds from the birth of the head, e.g. "3:15" or "0:30 before". */
  fromHead: string;
  text: string;
  /** Estimated, corrected, confirmed by a person … each in words. */
  marks: string[];
  /** Where the line comes from: what was heard, both readings, audio time; or who typed it, and when. */
  provenance: string[];
}

export interface Table {
  columns: string[];
  rows: string[][];
}

export type Block =
  | { kind: 'pairs'; pairs: Pair[] }
  | { kind: 'table'; table: Table }
  | { kind: 'lines'; lines: NoteLine[] }
  | { kind: 'list'; items: string[] }
  | { kind: 'text'; text: string };

export interface Section {
  id: string;
  title: string;
  /** Short enough to stand beside another one on paper. */
  half?: true;
  blocks: Block[];
}

/** The note before it is rendered: every rendering carries the same facts from the same entries. */
export interface Note {
  title: string;
  practice: boolean;
  sections: Section[];
  /** The standing words at the end of every note. */
  cautions: string[];
  lines: NoteLine[];
  file: RecordFile;
  view: RecordView;
  facts: Facts;
  vocabulary: Vocabulary;
}
