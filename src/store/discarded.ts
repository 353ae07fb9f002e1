import type { RecordFile } from '../core/log/events.ts';
import type { KeyStore } from './key-store.ts';
import {
  createRecord,
  deleteRecord,
  deviceKeys,
  deviceShelf,
  readRecord,
  settleDeleted,
  type createRecordStore,
} from './records.ts';
import { awayKeyId } from './sealed-shelf.ts';
import type { Shelf } from './shelf.ts';

/** A record that was put away sealed: what is told of it. Its contents are not shown until it is fetched back. */
export interface Discarded {
  recordId: string;
  createdAt: string;
  /** Until then it can be fetched back; ms since 1970 UTC. */
  untilMs: number;
}

interface PutAway extends Discarded {
  file: RecordFile;
}

const PLACE = 'discarded';
const keyOf = (recordId: string) => [PLACE, recordId] as const;

type Records = Pick<
  ReturnType<typeof createRecordStore>,
  'readRecord' | 'createRecord' | 'deleteRecord' | 'settleDeleted'
>;

/** Records that were put away, encrypted on the shelf with a key of their own (sealed-shelf.ts). */
export function createDiscarded(shelf: Shelf, records: Records, keys: Pick<KeyStore, 'destroy'>) {
  /** Their keys go first: where it is cut off in between, what is left lies there and is read by nobody. */
  async function forget(recordIds: readonly string[]): Promise<void> {
    if (recordIds.length === 0) return;
    await keys.destroy(recordIds.map(awayKeyId));
    await shelf.write(recordIds.map((recordId) => ({ kind: 'remove', key: keyOf(recordId) })));
  }

  return {
    /**
     * Takes a record out of the list and keeps it sealed until `untilMs`. False where the device could not: then the
     * record stands as before. A crash in between leaves it in the list.
     */
    async discardRecord(recordId: string, untilMs: number): Promise<boolean> {
      const outcome = await records.readRecord(recordId);
      if (outcome.kind !== 'ok') return false;
      const { file } = outcome;
      const value: PutAway = { recordId, createdAt: file.createdAt, untilMs, file };
      try {
        await shelf.write([{ kind: 'put', key: keyOf(recordId), value: JSON.parse(JSON.stringify(value)) }]);
      } catch {
        return false;
      }
      if ((await records.deleteRecord(recordId)).kind !== 'ok') {
        await forget([recordId]).catch(() => {});
        return false;
      }
      // Where this fails now, the next start after an unclean end or the next deletion does it.
      await records.settleDeleted().catch(() => {});
      return true;
    },

    /** What can be fetched back now, newest first. What is past its time goes for good. */
    async listDiscarded(nowMs: number): Promise<Discarded[]> {
      const found = await shelf.list<PutAway>([PLACE]).catch(() => []);
      // One whose key is lost cannot be fetched back by anybody.
      const all = found.filter((one) => 'file' in one);
      await forget(all.filter(({ untilMs }) => untilMs <= nowMs).map(({ recordId }) => recordId)).catch(
        () => {},
      );
      return all
        .filter(({ untilMs }) => untilMs > nowMs)
        .sort((a, b) => b.untilMs - a.untilMs)
        .map(({ recordId, createdAt, untilMs }) => ({ recordId, createdAt, untilMs }));
    },

    /** Puts a discarded record back into the list, as it was. False where it is not there or could not be put back. */
    async fetchBack(recordId: string): Promise<boolean> {
      const away = await shelf.get<PutAway>(keyOf(recordId)).catch(() => undefined);
      if (!away || !('file' in away)) return false;
      const outcome = await records.createRecord(away.file);
      if (outcome.kind !== 'ok' && outcome.kind !== 'exists') return false;
      await forget([recordId]).catch(() => {});
      return true;
    },
  };
}

export const { discardRecord, listDiscarded, fetchBack } = createDiscarded(
  deviceShelf,
  { readRecord, createRecord, deleteRecord, settleDeleted },
  deviceKeys,
);
