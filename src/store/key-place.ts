/** The part of the Storage Buckets API (WICG) that is used; not yet in the compiler's library. */
interface Bucket {
  indexedDB: IDBFactory;
}
interface Buckets {
  open: (name: string, options?: { durability?: string }) => Promise<Bucket>;
  keys: () => Promise<string[]>;
  delete: (name: string) => Promise<void>;
}

const NAME = 'utterlog-keys-';
export const KEY_DATABASE = 'keys';

const buckets = (): Buckets | undefined =>
  (navigator as unknown as { storageBuckets?: Buckets }).storageBuckets;

const numbersIn = (names: readonly (string | undefined)[]): number[] =>
  names
    .flatMap((name) => (name?.startsWith(NAME) ? [Number(name.slice(NAME.length))] : []))
    .filter((n) => Number.isInteger(n))
    .sort((a, b) => a - b);

/** Where keys lie: a place of their own, numbered, so that a place can be thrown away with its files. */
export interface KeyPlaces {
  numbers: () => Promise<number[]>;
  open: (number: number) => Promise<{ factory: IDBFactory; name: string }>;
  /** Removes the place and its files. */
  remove: (number: number) => Promise<void>;
}

/**
 * A deleted entry lives on in Chromium's database files until they are rewritten. A storage bucket has a folder of its
 * own that goes with it; in Firefox and WebKit, which keep each database in files of its own, a database does.
 */
export const keyPlaces: KeyPlaces = {
  numbers: async () =>
    numbersIn((await buckets()?.keys()) ?? (await indexedDB.databases()).map(({ name }) => name)),
  open: async (number) => {
    const bucket = await buckets()?.open(`${NAME}${number}`, { durability: 'strict' });
    return bucket
      ? { factory: bucket.indexedDB, name: KEY_DATABASE }
      : { factory: indexedDB, name: `${NAME}${number}` };
  },
  remove: async (number) => {
    const all = buckets();
    if (all) await all.delete(`${NAME}${number}`);
    else
      await new Promise<void>((done, fail) => {
        const request = indexedDB.deleteDatabase(`${NAME}${number}`);
        request.onsuccess = () => done();
        request.onerror = () => fail(request.error);
      });
  },
};
