import type { ClockSpan, RecordFile } from '../core/log/events.ts';
import { exclusively } from './exclusive.ts';
import { deviceKeyOn, signed } from './device-key.ts';
import { HeldRecords, type KeepingState, type Sign } from './held.ts';
import { keyPlaces } from './key-place.ts';
import { createKeyStore, type KeyStore } from './key-store.ts';
import { recordLocks } from './record-locks.ts';
import { recordedElsewhere } from './recorded-here.ts';
import { recordsOn, type AppendOutcome, type MakeEvents, type Refusal } from './record-shelf.ts';
import { sealedShelf } from './sealed-shelf.ts';
import {
  asShelfError,
  indexedDbShelf,
  shelfIn,
  ShelfError,
  type Shelf,
  type StorageProblem,
} from './shelf.ts';
import type { RecordSummary } from './summary.ts';

export type { RecordSummary } from './summary.ts';
export type { StorageProblem } from './shelf.ts';
export type { MakeEvents } from './record-shelf.ts';

export const DATABASE = 'utterlog';
export const plainShelf: Shelf = indexedDbShelf(DATABASE);
export const deviceKeys: KeyStore = createKeyStore({
  numbers: keyPlaces.numbers,
  remove: keyPlaces.remove,
  shelf: (number) => shelfIn(() => keyPlaces.open(number)),
  alone: (work) => exclusively('keys', work),
});
/** Everything clinical is encrypted on it (sealed-shelf.ts). */
export const deviceShelf: Shelf = sealedShelf(plainShelf, deviceKeys);
/** Keys of records that were unlocked in this window; gone with it. */
export const openKeys = new Map<string, CryptoKey>();
/** This device's lane and its signing key. */
export const deviceWriter = deviceKeyOn(deviceShelf);

/** The browser keeps nothing just now: the record lives in this window's memory only, and why. */
export type Held = { kind: 'held'; why: StorageProblem };
export type Kept<Ok> = ({ kind: 'ok' } & Ok) | (Held & Ok);

/**
 * Records that are never refused: what the device cannot keep is held in memory, said so in the outcome, and
 * brought back to the device as soon as that works (held.ts).
 */
export function createRecordStore(
  shelf: Shelf,
  keys: Map<string, CryptoKey>,
  elsewhere: (recordId: string) => Promise<boolean> = recordedElsewhere,
  sign?: Sign,
  destroyKeys: (recordIds: readonly string[]) => Promise<void> = async () => {},
) {
  const device = recordsOn(shelf, keys);
  const held = new HeldRecords(device, sign);

  /**
   * Adds events after the last one; durable on the device when it resolves with `ok`, and serialised over all
   * windows. `make` may run more than once. `held`: in memory only, the person must be told and offered a
   * download. `span` is added to the record's clock spans in the same write.
   */
  async function appendEvents(
    recordId: string,
    make: MakeEvents,
    span?: ClockSpan,
  ): Promise<Kept<{ events: AppendEvents }> | Refusal> {
    return exclusively(`record ${recordId}`, async () => {
      if (held.has(recordId))
        return { ...(await held.append(recordId, make, span)), kind: 'held', why: held.why(recordId) };
      try {
        const outcome = await device.append(recordId, make, span);
        if (outcome.kind === 'ok') {
          await held.noticed(recordId, outcome.events, span);
          return outcome;
        }
        // Locked by another window: what is said goes on in memory until the passphrase is given here.
        if (outcome.kind === 'locked' && held.knows(recordId)) throw new ShelfError('locked-elsewhere');
        if (outcome.kind !== 'missing' || !held.knows(recordId) || (await device.wasDeleted(recordId))) {
          return outcome;
        }
        // The database was deleted under the open record: this window still has all of it.
        throw new ShelfError('storage-gone', 'record vanished');
      } catch (error) {
        const problem = problemOf(error);
        if (!held.knows(recordId)) throw error;
        held.hold(recordId, problem);
        const { events } = await held.append(recordId, make, span);
        if ((await held.bringBack(recordId)).kind === 'ok') return { kind: 'ok', events };
        return { kind: 'held', why: problem, events };
      }
    });
  }

  /** Keeps a new record. `exists`: a record with this id is there; nothing was changed. */
  async function createRecord(file: RecordFile): Promise<Kept<object> | { kind: 'exists' }> {
    return exclusively(`record ${file.recordId}`, async () => {
      if (held.has(file.recordId)) return { kind: 'exists' };
      try {
        const outcome = await device.create(file);
        if (outcome.kind === 'ok') held.remember(file);
        return outcome;
      } catch (error) {
        const why = problemOf(error);
        held.remember(file);
        held.hold(file.recordId, why);
        return { kind: 'held', why };
      }
    });
  }

  /**
   * Whether an open record is still on the device. Where it vanished without anybody deleting it (site data
   * cleared), this window writes all of it back at once. `unknown`: this window has no copy, or the device is silent.
   */
  async function ensureKept(
    recordId: string,
  ): Promise<'there' | 'brought-back' | 'held' | 'deleted' | 'unknown'> {
    return exclusively(`record ${recordId}`, async () => {
      if (held.has(recordId)) return 'held';
      if (!held.knows(recordId)) return 'unknown';
      try {
        if (await device.header(recordId)) return 'there';
        if (await device.wasDeleted(recordId)) return 'deleted';
      } catch {
        return 'unknown';
      }
      held.hold(recordId, 'storage-gone');
      return (await held.bringBack(recordId)).kind === 'ok' ? 'brought-back' : 'held';
    });
  }

  /** The whole record. `held`: read from memory. */
  async function readRecord(
    recordId: string,
  ): Promise<Kept<{ file: RecordFile }> | Refusal | { kind: 'unreadable'; why: StorageProblem }> {
    if (held.has(recordId)) return { kind: 'held', why: held.why(recordId), file: held.file(recordId)! };
    try {
      const outcome = await device.read(recordId);
      if (outcome.kind === 'ok') held.remember(outcome.file, outcome.lock);
      return outcome;
    } catch (error) {
      const known = held.file(recordId);
      const why = problemOf(error);
      return known ? { kind: 'held', why, file: known } : { kind: 'unreadable', why };
    }
  }

  /** Newest first. `why` is set where the device could not be read and the list shows only what is in memory. */
  async function listRecords(): Promise<{ records: RecordSummary[]; why?: StorageProblem }> {
    const inMemory = held.summaries();
    const newestFirst = (records: RecordSummary[]) =>
      records.sort((a, b) => (a.createdAt < b.createdAt ? 1 : a.createdAt > b.createdAt ? -1 : 0));
    try {
      const onDevice = await device.summaries();
      const ids = new Set(inMemory.map(({ recordId }) => recordId));
      return {
        records: newestFirst([...onDevice.filter(({ recordId }) => !ids.has(recordId)), ...inMemory]),
      };
    } catch (error) {
      return { records: newestFirst(inMemory), why: problemOf(error) };
    }
  }

  /** Deletes a record with its audio, for good. Needs no passphrase. `running`: another window records it. */
  async function deleteRecord(
    recordId: string,
  ): Promise<
    { kind: 'ok' } | { kind: 'running' | 'waits-to-be-sent' } | { kind: 'failed'; why: StorageProblem }
  > {
    return exclusively(`record ${recordId}`, async () => {
      if (await elsewhere(recordId)) return { kind: 'running' };
      try {
        if ((await device.documents(recordId)).waiting) return { kind: 'waits-to-be-sent' };
        held.forget(recordId);
        await device.remove(recordId);
        doomed.add(recordId);
        return { kind: 'ok' };
      } catch (error) {
        return { kind: 'failed', why: problemOf(error) };
      }
    });
  }

  /** Keys of deleted records, destroyed together: each time the others move to a new place. */
  const doomed = new Set<string>();

  /** Destroys the keys of what was deleted since; call it after the last of several deletions. */
  async function settleDeleted(): Promise<void> {
    const ids: string[] = [];
    for (const recordId of doomed) {
      // One that was put back meanwhile, here or in another window, keeps its key.
      if (await device.wasDeleted(recordId)) ids.push(recordId);
    }
    if (ids.length > 0) await destroyKeys(ids);
    doomed.clear();
  }

  return {
    settleDeleted,
    ...recordLocks(device, held, keys, elsewhere, (recordId) => destroyKeys([recordId])),
    appendEvents,
    createRecord,
    readRecord,
    ensureKept,
    /** Calls back when the database was lost or deleted under this window. */
    onLost: (listener: () => void) => shelf.onLost?.(listener) ?? (() => {}),
    listRecords,
    deleteRecord,
    /** What is held in memory only, and why; null problem when all is on the device. */
    keeping: (): KeepingState => held.state(),
    /** Calls back on every change of that state and returns a function that stops it. */
    onKeeping: (listener: (state: KeepingState) => void) => held.onChange(listener),
    /** Tries at once to bring held records to the device, e.g. after a person made room. */
    retryKeeping: () => held.retryAll(),
    forgetAll: () => held.forgetAll(),
    /** How many events the list counted; undefined where the device cannot say. */
    countedEvents: (recordId: string) => device.counted(recordId).catch(() => undefined),
  };
}

type AppendEvents = Extract<AppendOutcome, { kind: 'ok' }>['events'];

function problemOf(error: unknown): StorageProblem {
  const { problem } = asShelfError(error);
  return problem === 'taken' ? 'storage-failed' : problem;
}

export const {
  appendEvents,
  createRecord,
  readRecord,
  ensureKept,
  onLost,
  listRecords,
  deleteRecord,
  settleDeleted,
  lockRecord,
  unlockRecord,
  closeLock,
  unlockForGood,
  changePassphrase,
  keeping,
  onKeeping,
  retryKeeping,
  forgetAll,
  countedEvents,
} = createRecordStore(
  deviceShelf,
  openKeys,
  undefined,
  async (events) => signed(events, await deviceWriter()),
  deviceKeys.destroy,
);
