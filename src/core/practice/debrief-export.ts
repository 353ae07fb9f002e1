import Papa from 'papaparse';
import { entryLabel } from '../vocabulary/entry-label.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import type { Debrief } from './debrief-types.ts';
import type { TrendPoint } from './trends.ts';

/** Stands in every file and every line of it, so that no part of it passes for a record of a birth. */
const MARK = 'PRACTICE';

/** "PRACTICE_utterlog_debrief_2026-03-05_posterior-arm.csv"; never the name of a clinical export. */
export function practiceFileName(what: string, startedAt: string, subject: string, ending: string): string {
  const safe = subject
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '');
  return [`${MARK}_utterlog`, what, startedAt.slice(0, 10), safe].filter(Boolean).join('_') + `.${ending}`;
}

/** All of the debrief. Times in ms of the drill's record. */
export function debriefJson(debrief: Debrief): string {
  const { fields, clock: _clock, ...rest } = debrief;
  const counts = (side: 'truth' | 'recorded') =>
    fields[side].groups.map(({ id, recorded, asked }) => ({ group: id, recorded, asked }));
  const out = {
    format: 'utterlog-practice-debrief',
    version: 1,
    mark: MARK,
    ...rest,
    fields: { truth: counts('truth'), recorded: counts('recorded') },
  };
  return JSON.stringify(out, null, 2) + '\n';
}

const COLUMNS =
  'mark scenario drill event code group status true_s recorded_s error_s recorded_as contradicts left_out said_aloud cause heard'.split(
    ' ',
  );
const TREND_COLUMNS = 'mark drill scenario way completeness median_time_error_s said_aloud'.split(' ');

const seconds = (ms: number | null): string => (ms === null ? '' : (ms / 1000).toFixed(1));

/** One line per event, then one per entry that no event stands behind. Seconds from the first event. */
export function debriefCsv(debrief: Debrief, vocabulary: Vocabulary): string {
  const from = debrief.events[0]?.truthMs ?? debrief.fromMs;
  const common = { mark: MARK, scenario: debrief.scenarioTitle, drill: debrief.startedAt };
  const events = debrief.events.map((event) => ({
    ...common,
    event: entryLabel(event.entry, vocabulary),
    code: event.entry.code,
    group: event.group,
    status: event.status,
    true_s: seconds(event.truthMs - from),
    recorded_s: event.recorded ? seconds(event.recorded.atMs - from) : '',
    error_s: seconds(event.errorMs),
    recorded_as: event.recorded ? entryLabel(event.recorded.entry, vocabulary) : '',
    contradicts: event.differences.map(({ slot }) => slot).join(' '),
    left_out: event.leftOut.map(({ slot }) => slot).join(' '),
    said_aloud: event.saidAloud === null ? 'not known' : event.saidAloud ? 'yes' : 'no',
    cause: event.cause ?? '',
    heard: event.heard.map(({ heard }) => heard).join(' | '),
  }));
  const extras = debrief.extras.map(({ entry, atMs, kind }) => ({
    ...common,
    code: entry.code,
    status: kind,
    recorded_s: seconds(atMs - from),
    recorded_as: entryLabel(entry, vocabulary),
  }));
  return csv([...events, ...extras], COLUMNS);
}

/** Quoted where needed; a cell that a spreadsheet would take for a formula is kept as text. */
const csv = (rows: Record<string, string>[], columns: string[]): string =>
  Papa.unparse({ fields: columns, data: rows }, { newline: '\r\n', escapeFormulae: true }) + '\r\n';

/** One line per drill. */
export function trendsCsv(points: readonly TrendPoint[]): string {
  const share = (value: number | null) => (value === null ? '' : value.toFixed(3));
  const rows = points.map((point) => ({
    mark: MARK,
    drill: point.startedAt,
    scenario: point.scenarioTitle,
    way: point.way,
    completeness: share(point.completeness),
    median_time_error_s: seconds(point.medianErrorMs),
    said_aloud: share(point.saidAloud),
  }));
  return csv(rows, TREND_COLUMNS);
}
