import { sealEvents, type Made } from './chain.ts';
import type { Author, RecordFile, Versions } from './events.ts';

export interface NewRecord {
  recordId: string;
  mode: 'real' | 'practice';
  /** Device wall clock at record time 0: ms since 1970 UTC, and the same as ISO 8601. */
  wallMs: number;
  createdAt: string;
  /** IANA time zone, e.g. Europe/London. */
  timeZone: string;
  reference?: string;
  scenarioId?: string;
  standby?: { by: 'voice' | 'touch'; sinceMs: number };
  /** When it is made, where that is later than record time 0: ms of the record's clock, and ISO 8601. */
  made?: { atMs: number; at: string };
  by?: Author;
  madeWith?: Versions;
  writer?: Made['writer'];
}

/** A record file with its `begin` event; record time starts at 0 with clock span 0. */
export function createRecordFile(record: NewRecord): RecordFile {
  const { recordId, mode, wallMs, createdAt, timeZone, reference, scenarioId, standby } = record;
  const { madeWith, writer } = record;
  const span = { spanId: 0, startMs: 0, wallMs };
  const head = { recordId, createdAt, timeZone, span, madeWith };
  const begin = { kind: 'begin', mode, reference, scenarioId, standby, record: head } as const;
  const { atMs: madeAtMs, at: madeAt } = record.made ?? { atMs: 0, at: createdAt };
  const made: Made = { by: record.by ?? { kind: 'system' }, madeAtMs, madeAt, writer };
  const events = sealEvents(null, [begin], made);
  return { format: 'utterlog-record', version: 2, recordId, createdAt, timeZone, spans: [span], events };
}
