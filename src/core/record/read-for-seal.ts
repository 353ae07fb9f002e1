import type { LogEvent, RecordFile } from '../log/events.ts';
import { mergeLanes } from '../log/lanes.ts';
import type { Closing } from '../log/closing.ts';
import { keyProblem, textProblem } from './guard.ts';

/** `unsealed`: a record of version 0, in which nothing was sealed. */
export type ReadForSeal =
  | { kind: 'record'; file: RecordFile; closing: Closing | null }
  | { kind: 'unsealed' }
  | { kind: 'unreadable'; why: string };

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/**
 * Reads a record to look at its seals only: an import would refuse an altered file, and the alteration is what is
 * asked for here. Events that something is missing before stand last, so that the chain names the first of them.
 */
export function readForSeal(text: string): ReadForSeal {
  const problem = textProblem(text);
  if (problem !== null) return { kind: 'unreadable', why: `${problem.why} (${problem.place})` };
  let value: unknown;
  try {
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch {
    return {
      kind: 'unreadable',
      why: 'it is not complete JSON: a file cut off in the middle looks like this',
    };
  }
  if (keyProblem(value) !== null || !isObject(value) || value.format !== 'utterlog-record')
    return { kind: 'unreadable', why: 'it is not a record of this app' };
  if (value.version === 0) return { kind: 'unsealed' };
  if (value.version !== 1 && value.version !== 2)
    return { kind: 'unreadable', why: 'its version is not known here: update the app, then try again' };
  const { closing = null, ...file } = value as unknown as RecordFile & { closing?: Closing };
  const { events } = file;
  const whole =
    Array.isArray(events) && events.length > 0 && events.every((event) => isObject(event) && 'hash' in event);
  if (!whole || !Array.isArray(file.spans))
    return { kind: 'unreadable', why: 'its list of events is missing or empty' };
  return { kind: 'record', file: { ...file, events: placed(events) }, closing };
}

function placed(events: LogEvent[]): LogEvent[] {
  if (events.every(({ lane }) => lane === undefined)) return events;
  const merged = mergeLanes(events, { trusted: true });
  return [...merged.events, ...merged.waiting].map((event, seq) => ({ ...event, seq }));
}
