import { asShelfError, type Shelf } from './shelf.ts';

/** Keys of records on this device. What is sealed with a destroyed key is read by nobody any more. */
export interface KeyStore {
  /** The record's key, made where there is none yet; durable on the device when it resolves. */
  forWriting: (recordId: string) => Promise<CryptoKey>;
  /** The record's key, or undefined where it was destroyed or lost. */
  forReading: (recordId: string) => Promise<CryptoKey | undefined>;
  /** Keys of many records at once. */
  all: () => Promise<ReadonlyMap<string, CryptoKey>>;
  /** Destroys the keys of these records with the files that held them. */
  destroy: (recordIds: readonly string[]) => Promise<void>;
  /** The same after an unclean end: into a new place even where nothing is to be destroyed, past a torn write. */
  renew: (withoutIds: readonly string[]) => Promise<void>;
  destroyAll: () => Promise<void>;
}

/** One numbered place: a shelf of its own. */
export interface KeyShelves {
  numbers: () => Promise<number[]>;
  shelf: (number: number) => Shelf;
  remove: (number: number) => Promise<void>;
  /** Runs alone among all windows. */
  alone: <T>(work: () => Promise<T>) => Promise<T>;
}

const WHOLE = ['whole'] as const;
const place = (recordId: string) => ['key', recordId] as const;

interface Kept {
  recordId: string;
  key: CryptoKey;
}

/**
 * Each record has a random AES-256-GCM key that the browser does not hand out (not extractable). Destroying one
 * copies the others to a new place and removes the old one whole: a deleted entry alone lives on in old files.
 */
export function createKeyStore(shelves: KeyShelves): KeyStore {
  let current: { number: number; shelf: Shelf } | null = null;
  const known = new Map<string, CryptoKey>();

  /** The newest place that is whole; a copy that was cut off is removed, and where there is none a new one begins. */
  async function find(): Promise<{ number: number; shelf: Shelf }> {
    const numbers = await shelves.numbers();
    for (const number of [...numbers].reverse()) {
      const shelf = shelves.shelf(number);
      if (await shelf.get(WHOLE)) return { number, shelf };
    }
    return begin(Math.max(0, ...numbers) + 1);
  }

  async function begin(number: number, keys: readonly Kept[] = []) {
    const shelf = shelves.shelf(number);
    await shelf.write([
      ...keys.map((kept) => ({ kind: 'put' as const, key: place(kept.recordId), value: kept })),
      { kind: 'put', key: WHOLE, value: true },
    ]);
    return { number, shelf };
  }

  /** Another window may have moved the keys on: then the place is looked for once more. */
  async function withShelf<T>(work: (shelf: Shelf) => Promise<T>): Promise<T> {
    current ??= await find();
    try {
      if (await current.shelf.get(WHOLE)) return await work(current.shelf);
    } catch (error) {
      if (asShelfError(error).problem === 'storage-full') throw error;
    }
    current = await find();
    return work(current.shelf);
  }

  /** The keys may move on between the look at the place and what is read there: then it is read once more. */
  async function steadily<T>(work: (shelf: Shelf) => Promise<T>, enough: (found: T) => boolean): Promise<T> {
    const found = await withShelf(work);
    if (enough(found) || (await current?.shelf.get(WHOLE).catch(() => undefined))) return found;
    return withShelf(work);
  }

  const read = (recordId: string) =>
    steadily(
      async (shelf) => (await shelf.get<Kept>(place(recordId)))?.key,
      (key) => key !== undefined,
    );

  /** One write asks for it several times at once. */
  const making = new Map<string, Promise<CryptoKey>>();

  async function make(recordId: string): Promise<CryptoKey> {
    const there = await read(recordId);
    if (there) {
      known.set(recordId, there);
      return there;
    }
    return shelves.alone(async () => {
      const meanwhile = await read(recordId);
      if (meanwhile) return meanwhile;
      // Storage that was cleared under an open window: its key is kept again, as its record is.
      const key =
        known.get(recordId) ??
        (await crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']));
      await withShelf((shelf) =>
        shelf.write([{ kind: 'put', key: place(recordId), value: { recordId, key } }]),
      );
      known.set(recordId, key);
      return key;
    });
  }

  const moveOn = (recordIds: readonly string[], always: boolean): Promise<void> =>
    shelves.alone(async () => {
      for (const recordId of recordIds) known.delete(recordId);
      const old = await find();
      const all = await old.shelf.list<Kept>(['key']);
      const left = all.filter(({ recordId }) => !recordIds.includes(recordId));
      if (left.length === all.length && !(always && all.length > 0)) return;
      current = await begin(Math.max(...(await shelves.numbers()), old.number) + 1, left);
      for (const number of await shelves.numbers()) {
        if (number !== current.number) await shelves.remove(number);
      }
    });

  return {
    forReading: async (recordId) => {
      const there = known.get(recordId) ?? (await read(recordId));
      if (there) known.set(recordId, there);
      return there;
    },
    all: async () => {
      const kept = await steadily(
        (shelf) => shelf.list<Kept>(['key']),
        () => false,
      );
      return new Map(kept.map(({ recordId, key }) => [recordId, key]));
    },
    forWriting: (recordId) => {
      const asked = making.get(recordId) ?? make(recordId).finally(() => making.delete(recordId));
      making.set(recordId, asked);
      return asked;
    },
    destroy: (recordIds) => moveOn(recordIds, false),
    renew: (withoutIds) => moveOn(withoutIds, true),
    destroyAll: () =>
      shelves.alone(async () => {
        known.clear();
        current = null;
        for (const number of await shelves.numbers()) await shelves.remove(number);
      }),
  };
}
