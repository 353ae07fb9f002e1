import type { Schema } from '@cfworker/json-schema';
import schema0 from '../../../static/utterlog-record-0.schema.json';
import { sealEvents } from '../log/chain.ts';
import { isoWithOffset } from '../log/clock.ts';
import type { Author, EventBody, LogEvent, RecordFile } from '../log/events.ts';

/** An older version of the file: its schema, and the step to the version after it. */
export interface OlderVersion {
  schema: Schema;
  step: (file: never) => unknown;
}

interface RecordFile0 {
  format: 'utterlog-record';
  version: 0;
  recordId: string;
  createdAt: string;
  timeZone: string;
  wallMs: number;
  events: (EventBody & { seq: number; by: Author; madeAtMs: number })[];
}

/** Version 0 had neither chain nor spans: both are made here, in the present form, and the first event says so. */
function from0(file: RecordFile0): RecordFile {
  const { recordId, createdAt, timeZone, wallMs } = file;
  const span = { spanId: 0, startMs: 0, wallMs };
  const events: LogEvent[] = [];
  for (const old of [...file.events].sort((a, b) => a.seq - b.seq)) {
    const { seq: _seq, by, madeAtMs, ...body } = old;
    const head = { recordId, createdAt, timeZone, span, migratedFrom: 0 };
    const made = { by, madeAtMs, madeAt: isoWithOffset(timeZone, wallMs + madeAtMs) };
    const first = events.length === 0 && body.kind === 'begin' ? { ...body, record: head } : body;
    events.push(...sealEvents(events.at(-1) ?? null, [first as EventBody], made));
  }
  return { format: 'utterlog-record', version: 2, recordId, createdAt, timeZone, spans: [span], events };
}

/** By version number. A new version of the file adds the last one here. */
export const OLDER_VERSIONS: Readonly<Record<number, OlderVersion>> = {
  0: { schema: schema0 as Schema, step: from0 as (file: never) => unknown },
};

export const CURRENT_VERSION = 2;
/** A record of version 1 stays as it is: its chain is the first lane of what is added later. */
export const READ_AS_IT_IS: readonly unknown[] = [1, 2];
