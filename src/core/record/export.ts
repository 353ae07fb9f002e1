import type { LogEvent, RecordFile } from '../log/events.ts';
import { closingOf, type Closing } from '../log/closing.ts';

/**
 * One event a line, so that a person can read it too. The same record gives the same text, and import gives it
 * back. Events of a lane are called by lane and number; their place in the order is worked out again by who reads.
 * @param closing what the file ends with; unsigned where no device signs it.
 */
export function exportRecord(file: RecordFile, closing: Closing = closingOf(file)): string {
  const { format, recordId, createdAt, timeZone, spans, events } = file;
  const version = events.some(({ lane }) => lane !== undefined) ? 2 : 1;
  const head = { format, version, recordId, createdAt, timeZone, spans };
  const opened = JSON.stringify(head, null, 1).replace(/\n\}$/, ',');
  const lines = events.map((event) => JSON.stringify(named(event))).join(',\n');
  const end = version === 2 ? `,\n "closing": ${JSON.stringify(closing)}` : '';
  return `${opened}\n "events": [\n${lines}\n ]${end}\n}\n`;
}

function named(event: LogEvent): object {
  if (event.lane === undefined) return event;
  const { seq: _place, ...rest } = event;
  return rest;
}
