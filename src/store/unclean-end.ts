import type { KeyStore } from './key-store.ts';
import { deviceKeys, deviceShelf } from './records.ts';
import type { Change, Shelf } from './shelf.ts';

/** Kept in the database itself: other storage is written to the disk seconds later, too late for this. */
const markKey = (id: string) => ['open', id] as const;
const windowLock = (id: string) => `utterlog window ${id}`;

/** Larger than Chromium's write buffer (4 MB), in pieces below the size from which it keeps values elsewhere (64 KiB). */
const PIECES = 84;
const PIECE_BYTES = 60_000;

/**
 * Makes the database begin a new write-ahead log. After a power cut Chromium goes on writing behind the torn end
 * of the old log; reading that at the next start fails, and it then throws the whole database away (seen with
 * Chromium 156, tests/faults). A new log leaves the torn one behind for good. Elsewhere this is a harmless write.
 */
export async function beginNewLog(shelf: Shelf): Promise<void> {
  const pieces = Array.from({ length: PIECES }, (_, at): Change => {
    // Random, so that no compression makes it small.
    const value = crypto.getRandomValues(new Uint8Array(PIECE_BYTES));
    return { kind: 'put', key: ['new-log', at], value };
  });
  await shelf.write(pieces);
  await shelf.write([{ kind: 'remove-all', prefix: ['new-log'] }]);
}

/** A kill between locking or deleting and the destruction of the key: done now. */
export async function finishDestroying(shelf: Shelf, keys: Pick<KeyStore, 'renew'>): Promise<void> {
  const headers = await shelf.list<{ recordId: string; lock?: unknown }>(['header']);
  const locked = headers.filter(({ lock }) => lock).map(({ recordId }) => recordId);
  const deleted = (await shelf.keys(['deleted'])).map(([, recordId]) => String(recordId));
  await keys.renew([...locked, ...deleted]);
}

/**
 * Notes that this window is open and, where an earlier one ended without saying so (crash, kill, power cut),
 * mends the database before that can harm it. True where it did.
 */
export async function mendAfterUncleanEnd(shelf: Shelf = deviceShelf): Promise<boolean> {
  const id = crypto.randomUUID();
  const mark = () => shelf.write([{ kind: 'put', key: markKey(id), value: true }]);
  const unmark = (): Change => ({ kind: 'remove', key: markKey(id) });
  try {
    const { held = [] } = (await navigator.locks?.query()) ?? {};
    const open = new Set(held.map(({ name }) => name));
    void navigator.locks?.request(windowLock(id), () => new Promise(() => {}));
    const stale = (await shelf.keys(['open'])).filter(([, other]) => !open.has(windowLock(String(other))));
    if (stale.length > 0) {
      await beginNewLog(shelf);
      await finishDestroying(shelf, deviceKeys);
    }
    await shelf.write(stale.map((key): Change => ({ kind: 'remove', key })));
    await mark();
    // A browser may end the page before this is written: then the next start mends without need, no more.
    addEventListener('pagehide', () => void shelf.write([unmark()]).catch(() => {}));
    addEventListener('pageshow', () => void mark().catch(() => {}));
    return stale.length > 0;
  } catch {
    // Site data is blocked: then there is no database to mend either, and the record store says so.
    return false;
  }
}
