import { sealJson, unsealJson, type Sealed } from './keyring.ts';
import type { KeyStore } from './key-store.ts';
import type { Change, Shelf, ShelfKey } from './shelf.ts';

/** Sealed as a whole. `recordId`: whose key opens it. */
interface Whole {
  sealed: Sealed;
  recordId: string;
}
/** A summary: times, counts and states stay readable, reference and codes are sealed. */
interface Partly {
  recordId: string;
  locked?: boolean;
  secret?: Sealed;
}

const isWhole = (value: unknown): value is Whole =>
  typeof value === 'object' && value !== null && 'sealed' in value && 'recordId' in value;

/** What of a summary names people or tells what happened. */
const SECRET = ['reference', 'codes'] as const;

const kindOf = (key: ShelfKey): 'whole' | 'partly' | 'open' =>
  ['events', 'outbox', 'discarded', 'sharing'].includes(String(key[0]))
    ? 'whole'
    : key[0] === 'summary'
      ? 'partly'
      : 'open';

/** The key of a record that was put away is not the record's own, which is destroyed when it leaves the list. */
export const awayKeyId = (recordId: string): string => `discarded ${recordId}`;

/** Whose key seals what lies as a whole at this place. */
function keyIdOf(place: ShelfKey, value: unknown): string {
  if (place[0] === 'events' || place[0] === 'sharing') return String(place[1]);
  if (place[0] === 'discarded') return awayKeyId(String(place[1]));
  return (value as { recordId: string }).recordId;
}

/**
 * A shelf on which everything clinical is encrypted from its first byte: events, what a summary tells, documents that
 * wait to be sent, records that were put away. Settings, drills and a record's head (id, times, time zone) stay as they are. What lies there from
 * before, or is locked by a passphrase already, is passed through as it is. A value whose key was destroyed is given
 * back sealed: whoever reads it finds it damaged.
 */
export function sealedShelf(shelf: Shelf, keys: KeyStore): Shelf {
  async function sealed(change: Change): Promise<Change> {
    if (change.kind !== 'add' && change.kind !== 'put') return change;
    const kind = kindOf(change.key);
    if (kind === 'open') return change;
    if (kind === 'partly') {
      const summary = change.value as Partly & Record<string, unknown>;
      // Of a locked record nothing clinical is in it, and its key here was destroyed.
      if (summary.locked) return change;
      const key = await keys.forWriting(summary.recordId);
      const secret = Object.fromEntries(SECRET.map((name) => [name, summary[name]]));
      const open = { ...summary, reference: '', codes: [] };
      return { ...change, value: { ...open, secret: await sealJson(key, secret) } };
    }
    // Sealed with the key that the passphrase opens.
    if (change.key[0] === 'events' && !Array.isArray(change.value)) return change;
    const recordId = keyIdOf(change.key, change.value);
    const key = await keys.forWriting(recordId);
    return { ...change, value: { sealed: await sealJson(key, change.value), recordId } };
  }

  async function opened(value: unknown, key: CryptoKey | undefined): Promise<unknown> {
    if (isWhole(value)) return (key && (await unsealJson(key, value.sealed))) ?? value.sealed;
    const { secret, ...rest } = value as Partly;
    if (!secret) return value;
    return { ...rest, ...(key ? await unsealJson<object>(key, secret) : {}) };
  }

  const recordOf = (value: unknown): string | null => {
    if (isWhole(value)) return value.recordId;
    const partly = value as Partly | null;
    return typeof partly === 'object' && partly?.secret ? partly.recordId : null;
  };
  async function one<T>(value: unknown): Promise<T | undefined> {
    const recordId = recordOf(value);
    return (recordId === null ? value : await opened(value, await keys.forReading(recordId))) as
      T | undefined;
  }

  return {
    ...shelf,
    get: async <T>(key: ShelfKey) => one<T>(await shelf.get(key)),
    last: async <T>(prefix: ShelfKey) => one<T>(await shelf.last(prefix)),
    list: async <T>(prefix: ShelfKey) => {
      const values = await shelf.list<unknown>(prefix);
      const ids = new Set(values.map(recordOf).filter((id) => id !== null));
      if (ids.size === 0) return values as T[];
      const [only] = ids;
      const found = ids.size === 1 ? new Map([[only, await keys.forReading(only!)]]) : await keys.all();
      return (await Promise.all(
        values.map((value) => {
          const recordId = recordOf(value);
          return recordId === null ? value : opened(value, found.get(recordId));
        }),
      )) as T[];
    },
    write: async (changes) => shelf.write(await Promise.all(changes.map(sealed))),
  };
}

/** The same for reading only, with keys that were handed over: what a worker beside the page reads records through. */
export function readingShelf(shelf: Shelf, keys: ReadonlyMap<string, CryptoKey>): Shelf {
  const refused = () => Promise.reject(new Error('this shelf is for reading only'));
  const forReading = async (recordId: string) => keys.get(recordId);
  const store: KeyStore = {
    forReading,
    all: async () => keys,
    forWriting: refused,
    destroy: refused,
    renew: refused,
    destroyAll: refused,
  };
  return { ...sealedShelf(shelf, store), write: refused };
}
