import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';

export interface ReportOptions {
  /** With the built-in labels. */
  vocabulary: Vocabulary;
  /** "2026-11-30". */
  madeOn: string;
  /** First and last month asked for, where somebody asked. */
  since?: string;
  until?: string;
  /** First month after a change that a person names; the report compares before and after. */
  change?: string;
  /** Sentences on what is not in the report: files refused, records locked. */
  leftOut?: string[];
  /** Whose records: "this device", "2 units". */
  source: string;
}

/** The report as plain data: what a page, a printed sheet and a table file are made from. All cells are withheld already. */
export interface Report {
  title: string;
  /** What it rests on: period, records, what was left out. */
  facts: string[];
  /** Births and drills, never together. */
  parts: Part[];
  /** What the report is not. */
  cautions: string[];
}

export interface Part {
  id: 'births' | 'drills';
  title: string;
  /** The year on one page; empty where there are too few records. */
  figures: Figure[];
  sections: Section[];
}

/** One number with how it was counted. */
export interface Figure {
  label: string;
  value: string;
  counted: string;
}

export interface Section {
  id: string;
  title: string;
  /** How many records it rests on, in words. */
  records: string;
  /** How it was counted. */
  definition: string;
  blocks: Block[];
}

export type Block =
  | { kind: 'text'; text: string }
  | { kind: 'table'; caption: string; columns: string[]; rows: string[][] }
  | { kind: 'chart'; chart: Chart };

export interface ChartPoint {
  /** "2026-03" or "2026-03 to 2026-05". */
  label: string;
  records: number;
  value: number;
  /** Only where the point holds nine values or more: of fewer they would be single records. */
  q1?: number;
  q3?: number;
  /** Outside the limits. */
  outside?: true;
}

export interface Chart {
  title: string;
  unit: 'seconds' | 'percent';
  points: ChartPoint[];
  centre: { value: number; label: string } | null;
  limits: { low: number; high: number } | null;
  /** The named date: index of the first point after it. */
  changeAt: number | null;
  /** The same points stand in the table of the chart before. */
  numbersAbove?: true;
  /** What the rules say, in sentences. */
  reading: string[];
}
