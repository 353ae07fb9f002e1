import { promisifyRequest, type UseStore } from 'idb-keyval';

export type ShelfKey = readonly (string | number)[];

/** `add` fails where the key exists: two windows can never both write the same place. */
export type Change =
  | { kind: 'add' | 'put'; key: ShelfKey; value: unknown }
  | { kind: 'remove'; key: ShelfKey }
  | { kind: 'remove-all'; prefix: ShelfKey };

/** Ordered keys with values. `write` is one transaction: all of it is durable when it resolves, or none is there. */
export interface Shelf {
  get<T>(key: ShelfKey): Promise<T | undefined>;
  /** Values whose keys begin with the prefix, in key order. */
  list<T>(prefix: ShelfKey): Promise<T[]>;
  keys(prefix: ShelfKey): Promise<ShelfKey[]>;
  last<T>(prefix: ShelfKey): Promise<T | undefined>;
  write(changes: readonly Change[]): Promise<void>;
  /** Calls back when the connection is lost or the database deleted under it, where the shelf can notice. */
  onLost?(listener: () => void): () => void;
}

/**
 * storage-full: no room on the device or over the browser's quota;
 * storage-blocked: the browser refuses, or does not answer in time;
 * storage-gone: the database was deleted or its connection lost;
 * storage-failed: anything else that the browser reports;
 * locked-elsewhere: another window locked the record under this one, which cannot write it without the passphrase.
 */
export type StorageProblem =
  'storage-full' | 'storage-blocked' | 'storage-gone' | 'storage-failed' | 'locked-elsewhere';

export class ShelfError extends Error {
  readonly problem: StorageProblem | 'taken';
  constructor(problem: StorageProblem | 'taken', cause?: unknown) {
    super(`${problem}: ${cause instanceof Error ? `${cause.name} ${cause.message}` : String(cause ?? '')}`);
    this.problem = problem;
  }
}

const PROBLEM_OF: Record<string, StorageProblem | 'taken'> = {
  ConstraintError: 'taken',
  QuotaExceededError: 'storage-full',
  SecurityError: 'storage-blocked',
  NotAllowedError: 'storage-blocked',
  InvalidAccessError: 'storage-blocked',
  ReferenceError: 'storage-blocked',
  InvalidStateError: 'storage-gone',
  NotFoundError: 'storage-gone',
  AbortError: 'storage-gone',
};

export function asShelfError(error: unknown): ShelfError {
  if (error instanceof ShelfError) return error;
  const { name, message } =
    error instanceof Error || error instanceof DOMException ? error : { name: '', message: '' };
  // Chromium, where a person or an administrator blocks site data.
  if (name === 'UnknownError' && /denied permission/.test(message))
    return new ShelfError('storage-blocked', error);
  return new ShelfError(PROBLEM_OF[name] ?? 'storage-failed', error);
}

/** Everything under a prefix: in IndexedDB's order an array comes after every number and string. */
const under = (prefix: ShelfKey) => IDBKeyRange.bound(prefix, [...prefix, []]);

/** The abort's own error: while an error event still bubbles, a transaction's error is not yet set. */
function committed(transaction: IDBTransaction): Promise<void> {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () =>
      reject(transaction.error ?? new DOMException('transaction aborted', 'AbortError'));
  });
}

function withTimeout<T>(work: Promise<T>, limitMs: number): Promise<T> {
  let timer: ReturnType<typeof setTimeout>;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(
      () => reject(new ShelfError('storage-blocked', `no answer in ${limitMs} ms`)),
      limitMs,
    );
  });
  return Promise.race([work, late]).finally(() => clearTimeout(timer));
}

const OPEN_LIMIT_MS = 5_000;
const WORK_LIMIT_MS = 15_000;
const STORE = 'kept';

/**
 * idb-keyval's own store gives no say over durability and keeps a connection that stands in the way of a
 * deletion in another window; this one flushes to disk before a write counts, and lets go.
 */
function strictStore(place: Place, lost: () => void): UseStore {
  let opening: Promise<IDBDatabase> | undefined;
  const open = () => {
    opening ??= place().then(({ factory, name }) => openDatabase(factory, name));
    opening.catch(() => (opening = undefined));
    return opening;
  };
  const openDatabase = (factory: IDBFactory, name: string) =>
    new Promise<IDBDatabase>((resolve, reject) => {
      const request = factory.open(name, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(STORE);
      request.onerror = () => reject(request.error);
      request.onsuccess = () => {
        const database = request.result;
        const letGo = () => {
          database.close();
          opening = undefined;
          lost();
        };
        database.onversionchange = letGo;
        database.onclose = letGo;
        resolve(database);
      };
    });
  const transaction = async (mode: IDBTransactionMode) => {
    const begin = async () =>
      (await withTimeout(open(), OPEN_LIMIT_MS)).transaction(STORE, mode, { durability: 'strict' });
    try {
      return await begin();
    } catch (error) {
      // A connection that was closed under us: one fresh try.
      if (asShelfError(error).problem !== 'storage-gone') throw error;
      opening = undefined;
      return await begin();
    }
  };
  return async (mode, callback) => callback((await transaction(mode)).objectStore(STORE));
}

/** Which database of which storage; asked at each (re)opening. */
type Place = () => Promise<{ factory: IDBFactory; name: string }>;

/** A shelf in IndexedDB. Every failure is a ShelfError. */
export const indexedDbShelf = (databaseName: string): Shelf =>
  shelfIn(async () => ({ factory: indexedDB, name: databaseName }));

/** The same in a storage of its own. */
export function shelfIn(place: Place): Shelf {
  const listeners = new Set<() => void>();
  const store = strictStore(place, () => {
    for (const listener of listeners) listener();
  });
  const work = async <T>(mode: IDBTransactionMode, callback: (objects: IDBObjectStore) => Promise<T>) => {
    try {
      return await withTimeout(store(mode, callback), WORK_LIMIT_MS);
    } catch (error) {
      throw asShelfError(error);
    }
  };
  return {
    get: (key) => work('readonly', (objects) => promisifyRequest(objects.get(key as IDBValidKey))),
    list: (prefix) => work('readonly', (objects) => promisifyRequest(objects.getAll(under(prefix)))),
    keys: (prefix) =>
      work(
        'readonly',
        (objects) =>
          promisifyRequest(objects.getAllKeys(under(prefix))) as Promise<unknown> as Promise<ShelfKey[]>,
      ),
    last: (prefix) =>
      work('readonly', async (objects) => {
        const cursor = await promisifyRequest(objects.openCursor(under(prefix), 'prev'));
        return cursor?.value;
      }),
    write: (changes) =>
      work('readwrite', (objects) => {
        const done = committed(objects.transaction);
        try {
          for (const change of changes) {
            if (change.kind === 'add') objects.add(change.value, change.key as IDBValidKey);
            else if (change.kind === 'put') objects.put(change.value, change.key as IDBValidKey);
            else if (change.kind === 'remove') objects.delete(change.key as IDBValidKey);
            else if (change.kind === 'remove-all') objects.delete(under(change.prefix));
          }
        } catch (error) {
          // A value that cannot be stored must not leave half a transaction behind.
          done.catch(() => {});
          objects.transaction.abort();
          throw error;
        }
        return done;
      }),
    onLost: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

function compareKeys(a: ShelfKey, b: ShelfKey): number {
  for (let at = 0; at < Math.min(a.length, b.length); at++) {
    const x = a[at]!;
    const y = b[at]!;
    if (x === y) continue;
    if (typeof x !== typeof y) return typeof x === 'number' ? -1 : 1;
    return x < y ? -1 : 1;
  }
  return a.length - b.length;
}

/** The same in memory, for when the browser keeps nothing. Lost with the window: whoever uses it must say so. */
export function memoryShelf(): Shelf {
  const kept = new Map<string, { key: ShelfKey; value: unknown }>();
  const name = (key: ShelfKey) => JSON.stringify(key);
  const under = (prefix: ShelfKey) =>
    [...kept.values()]
      .filter(({ key }) => prefix.every((part, at) => key[at] === part))
      .sort((a, b) => compareKeys(a.key, b.key));
  return {
    get: async <T>(key: ShelfKey) => structuredClone(kept.get(name(key))?.value) as T | undefined,
    list: async <T>(prefix: ShelfKey) => under(prefix).map(({ value }) => structuredClone(value) as T),
    keys: async (prefix) => under(prefix).map(({ key }) => key),
    last: async <T>(prefix: ShelfKey) => structuredClone(under(prefix).at(-1)?.value) as T | undefined,
    write: async (changes) => {
      for (const change of changes) {
        if (change.kind === 'add' && kept.has(name(change.key)))
          throw new ShelfError('taken', name(change.key));
      }
      for (const change of changes) {
        if (change.kind === 'remove') kept.delete(name(change.key));
        else if (change.kind === 'remove-all') {
          for (const { key } of under(change.prefix)) kept.delete(name(key));
        } else kept.set(name(change.key), { key: change.key, value: structuredClone(change.value) });
      }
    },
  };
}
