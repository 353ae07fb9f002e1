import { legible } from '../core/log/legible.ts';
import type { LogEvent, RecordFile } from '../core/log/events.ts';

/** What a list of records shows and searches, kept apart from the events so that listing never reads them. */
export interface RecordSummary {
  recordId: string;
  createdAt: string;
  mode: 'real' | 'practice';
  /** Empty for a locked record: nothing of its content is kept in the open. */
  reference: string;
  scenarioId?: string;
  eventCount: number;
  /** Entries ever made, struck ones included. */
  entryCount: number;
  /** Distinct entry codes in order of first mention; empty for a locked record. */
  codes: string[];
  /** ISO 8601, of the last event. */
  changedAt: string;
  finished: boolean;
  /** True while the last signature has no later change. */
  signed: boolean;
  locked: boolean;
}

export function emptySummary(file: Pick<RecordFile, 'recordId' | 'createdAt'>): RecordSummary {
  return {
    recordId: file.recordId,
    createdAt: file.createdAt,
    mode: 'real',
    reference: '',
    eventCount: 0,
    entryCount: 0,
    codes: [],
    changedAt: file.createdAt,
    finished: false,
    signed: false,
    locked: false,
  };
}

/** The summary after these further events. */
export function extendSummary(summary: RecordSummary, events: readonly LogEvent[]): RecordSummary {
  const next = { ...summary, codes: [...summary.codes] };
  const mention = (code: string) => {
    if (!summary.locked && !next.codes.includes(code)) next.codes.push(code);
  };
  const called = (reference: string) => {
    if (!summary.locked) next.reference = legible(reference);
  };
  for (const event of events) {
    next.eventCount += 1;
    next.changedAt = event.madeAt;
    next.signed = event.kind === 'sign';
    switch (event.kind) {
      case 'begin':
        next.mode = event.mode;
        called(event.reference ?? '');
        if (event.scenarioId) next.scenarioId = event.scenarioId;
        break;
      case 'field':
        if (event.field === 'reference') called(event.value);
        break;
      case 'entry':
        next.entryCount += 1;
        mention(event.entry.code);
        break;
      case 'confirm':
        next.entryCount += event.entries.length;
        event.entries.forEach((entry) => mention(entry.code));
        break;
      case 'replace':
        mention(event.entry.code);
        break;
      case 'finish':
        next.finished = true;
        break;
      case 'reopen':
        next.finished = false;
        break;
      default:
        break;
    }
  }
  return next;
}

/** What stays readable of a locked record. */
export const lockedSummary = (summary: RecordSummary): RecordSummary => ({
  ...summary,
  reference: '',
  codes: [],
  locked: true,
});
