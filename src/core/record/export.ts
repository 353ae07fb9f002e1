import type { RecordFile } from '../log/events.ts';

/** The record as JSON text, one event a line: the same record gives the same text, and import gives it back. */
export function exportRecord(file: RecordFile): string {
  const { format, version, recordId, createdAt, timeZone, spans, events } = file;
  const head = { format, version, recordId, createdAt, timeZone, spans };
  const opened = JSON.stringify(head, null, 1).replace(/\n\}$/, ',');
  return `${opened}\n "events": [\n${events.map((event) => JSON.stringify(event)).join(',\n')}\n ]\n}\n`;
}
