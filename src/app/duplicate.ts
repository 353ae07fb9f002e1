import { bodyOf, sealEvents, type Made } from '../core/log/chain.ts';
import { isoWithOffset } from '../core/log/clock.ts';
import type { LogEvent, RecordFile } from '../core/log/events.ts';

/**
 * A copy of a record under a new id, open for an amendment with this reason. What happened stays as it
 * was told: every event keeps its author and its times. The chain is sealed anew, because it covers
 * the id; signatures are not copied, because nobody signed this copy.
 * @param writer the device that makes the copy; it signs the events itself.
 * @param wallMs the device's wall clock, ms since 1970 UTC.
 */
export function duplicateRecord(
  file: RecordFile,
  recordId: string,
  reason: string,
  wallMs: number,
  writer?: Made['writer'],
): RecordFile {
  let last: LogEvent | null = null;
  const events: LogEvent[] = [];
  for (const event of file.events) {
    if (event.kind === 'sign') continue;
    const { by, madeAtMs, madeAt } = event;
    const body = bodyOf(event);
    const own =
      body.kind === 'begin' && body.record ? { ...body, record: { ...body.record, recordId } } : body;
    const sealed: LogEvent[] = sealEvents(last, [own], { by, madeAtMs, madeAt, writer });
    events.push(...sealed);
    last = sealed.at(-1)!;
  }
  const madeAtMs = file.events.reduce((latest, event) => Math.max(latest, event.madeAtMs), 0);
  const madeAt = isoWithOffset(file.timeZone, wallMs);
  events.push(
    ...sealEvents(last, [{ kind: 'amend', reason }], { by: { kind: 'reviewer' }, madeAtMs, madeAt, writer }),
  );
  return { ...file, version: 2, recordId, events };
}
