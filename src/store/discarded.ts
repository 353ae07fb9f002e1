import type { RecordFile } from '../core/log/events.ts';
import { createRecord, deleteRecord, deviceShelf, readRecord } from './records.ts';

/** A record that was put away sealed: what is told of it. Its contents are not shown until it is fetched back. */
export interface Discarded {
  recordId: string;
  createdAt: string;
  /** Until then it can be fetched back; ms since 1970 UTC. */
  untilMs: number;
}

interface Sealed extends Discarded {
  file: RecordFile;
}

const PLACE = 'discarded';
const keyOf = (recordId: string) => [PLACE, recordId] as const;

/**
 * Takes a record out of the list and keeps it sealed until `untilMs`. False where the device could not: then the
 * record stands as before. A crash in between leaves it in the list.
 */
export async function discardRecord(recordId: string, untilMs: number): Promise<boolean> {
  const outcome = await readRecord(recordId);
  if (outcome.kind !== 'ok') return false;
  const { file } = outcome;
  const value: Sealed = { recordId, createdAt: file.createdAt, untilMs, file };
  try {
    await deviceShelf.write([
      { kind: 'put', key: keyOf(recordId), value: JSON.parse(JSON.stringify(value)) },
    ]);
  } catch {
    return false;
  }
  return (await deleteRecord(recordId)).kind === 'ok';
}

/** What can be fetched back now, newest first. What is past its time goes for good. */
export async function listDiscarded(nowMs: number): Promise<Discarded[]> {
  const all = await deviceShelf.list<Sealed>([PLACE]).catch(() => []);
  const over = all.filter(({ untilMs }) => untilMs <= nowMs);
  if (over.length > 0) {
    const gone = over.map(({ recordId }) => ({ kind: 'remove', key: keyOf(recordId) }) as const);
    await deviceShelf.write(gone).catch(() => {});
  }
  return all
    .filter(({ untilMs }) => untilMs > nowMs)
    .sort((a, b) => b.untilMs - a.untilMs)
    .map(({ recordId, createdAt, untilMs }) => ({ recordId, createdAt, untilMs }));
}

/** Puts a discarded record back into the list, as it was. False where it is not there or could not be put back. */
export async function fetchBack(recordId: string): Promise<boolean> {
  const sealed = await deviceShelf.get<Sealed>(keyOf(recordId)).catch(() => undefined);
  if (!sealed) return false;
  const outcome = await createRecord(sealed.file);
  if (outcome.kind !== 'ok' && outcome.kind !== 'exists') return false;
  await deviceShelf.write([{ kind: 'remove', key: keyOf(recordId) }]).catch(() => {});
  return true;
}
