import type { ClockSpan, LogEvent, RecordFile } from '../core/log/events.ts';
import { arranged } from '../core/log/lanes.ts';
import type { OutboxItem } from './outbox-item.ts';
import { sealJson, unsealJson, type LockBox, type Sealed } from './keyring.ts';
import { ShelfError, type Change, type Shelf } from './shelf.ts';
import { emptySummary, extendSummary, lockedSummary, type RecordSummary } from './summary.ts';

export type Header = Omit<RecordFile, 'events'> & { lock?: LockBox };

/** `locked`: its passphrase was not given in this window. `damaged`: kept, but not what was written. */
export type Refusal = { kind: 'missing' } | { kind: 'locked' } | { kind: 'damaged' };
export type ReadOutcome = { kind: 'ok'; file: RecordFile; lock?: LockBox } | Refusal;
export type AppendOutcome = { kind: 'ok'; events: LogEvent[] } | Refusal;

/** Seals the next events after `last`; may run again if another window was first, so it must have no effects. */
export type MakeEvents = (
  last: LogEvent | null,
  spans: readonly ClockSpan[],
) => LogEvent[] | Promise<LogEvent[]>;

export const headerKey = (recordId: string) => ['header', recordId] as const;
export const summaryKey = (recordId: string) => ['summary', recordId] as const;
export const chunkPrefix = (recordId: string) => ['events', recordId] as const;
/** Tells another window, which still has the record open, that it did not merely vanish. */
const deletedKey = (recordId: string) => ['deleted', recordId] as const;
const chunkKey = (recordId: string, firstSeq: number) => ['events', recordId, firstSeq] as const;

/** Events of one append lie together; a whole file is written in pieces of this many. */
const CHUNK = 500;
const TRIES = 8;

type Chunk = LogEvent[] | Sealed;

const encodeChunk = async (events: LogEvent[], key: CryptoKey | undefined): Promise<Chunk> =>
  key ? sealJson(key, events) : events;

async function decodeChunk(chunk: Chunk, key: CryptoKey | undefined): Promise<LogEvent[] | null> {
  if (Array.isArray(chunk)) return chunk;
  return key ? unsealJson<LogEvent[]>(key, chunk) : null;
}

/** What lies in a store must be plain: a reactive wrapper cannot be cloned, and would lose the entry. */
const plain = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;

export type RecordShelf = ReturnType<typeof recordsOn>;

/**
 * Records on a shelf. Header, summary and events are separate keys: listing reads summaries only, and an
 * append writes a handful of events, never the record. `openKeys` holds the keys of records unlocked in this window.
 * Failures of the shelf itself are thrown as ShelfError.
 */
export function recordsOn(shelf: Shelf, openKeys: ReadonlyMap<string, CryptoKey>) {
  async function wholeChanges(
    file: RecordFile,
    lock: LockBox | undefined,
    key: CryptoKey | undefined,
  ): Promise<Change[]> {
    // Never in the open because a key is missing.
    if (lock && !key) throw new ShelfError('storage-failed', 'the key of a locked record is not open');
    const { events, ...header } = plain(file);
    const open = extendSummary(emptySummary(file), events);
    const changes: Change[] = [
      { kind: 'remove', key: deletedKey(file.recordId) },
      { kind: 'add', key: headerKey(file.recordId), value: lock ? { ...header, lock } : header },
      { kind: 'put', key: summaryKey(file.recordId), value: lock ? lockedSummary(open) : open },
    ];
    for (let at = 0; at < events.length; at += CHUNK) {
      const chunk = events.slice(at, at + CHUNK);
      changes.push({
        kind: 'add',
        key: chunkKey(file.recordId, chunk[0]!.seq),
        value: await encodeChunk(chunk, lock && key),
      });
    }
    return changes;
  }

  async function tryAppend(recordId: string, make: MakeEvents, span?: ClockSpan): Promise<AppendOutcome> {
    const header = await shelf.get<Header>(headerKey(recordId));
    if (!header) return { kind: 'missing' };
    const key = header.lock && openKeys.get(recordId);
    if (header.lock && !key) return { kind: 'locked' };
    const tail = await shelf.last<Chunk>(chunkPrefix(recordId));
    const last = tail ? await decodeChunk(tail, key) : [];
    if (!last) return { kind: 'damaged' };
    const spans = span ? [...header.spans, plain(span)] : header.spans;
    const events = plain(await make(last.at(-1) ?? null, spans));
    if (events.length === 0) return { kind: 'ok', events };
    const before = (await shelf.get<RecordSummary>(summaryKey(recordId))) ?? emptySummary(header);
    const changes: Change[] = [
      { kind: 'add', key: chunkKey(recordId, events[0]!.seq), value: await encodeChunk(events, key) },
      { kind: 'put', key: summaryKey(recordId), value: extendSummary(before, events) },
    ];
    if (span) changes.push({ kind: 'put', key: headerKey(recordId), value: { ...header, spans } });
    await shelf.write(changes);
    return { kind: 'ok', events };
  }

  return {
    async append(recordId: string, make: MakeEvents, span?: ClockSpan): Promise<AppendOutcome> {
      for (let attempt = 1; ; attempt++) {
        try {
          return await tryAppend(recordId, make, span);
        } catch (error) {
          const another = error instanceof ShelfError && error.problem === 'taken' && attempt < TRIES;
          if (!another) throw error;
        }
      }
    },

    /** `lock`: keep it locked with this box; its key must be open. */
    async create(file: RecordFile, lock?: LockBox): Promise<{ kind: 'ok' } | { kind: 'exists' }> {
      try {
        await shelf.write(await wholeChanges(file, lock, openKeys.get(file.recordId)));
        return { kind: 'ok' };
      } catch (error) {
        if (error instanceof ShelfError && error.problem === 'taken') return { kind: 'exists' };
        throw error;
      }
    },

    async read(recordId: string): Promise<ReadOutcome> {
      const header = await shelf.get<Header>(headerKey(recordId));
      if (!header) return { kind: 'missing' };
      const { lock, ...rest } = header;
      const key = lock && openKeys.get(recordId);
      if (lock && !key) return { kind: 'locked' };
      const events: LogEvent[] = [];
      for (const chunk of await shelf.list<Chunk>(chunkPrefix(recordId))) {
        const some = await decodeChunk(chunk, key);
        if (!some) return { kind: 'damaged' };
        for (const event of some) events.push(event);
      }
      return { kind: 'ok', file: arranged({ ...rest, events }), ...(lock ? { lock } : {}) };
    },

    header: (recordId: string) => shelf.get<Header>(headerKey(recordId)),

    /** True where a person deleted it, in this window or another. */
    wasDeleted: async (recordId: string) => (await shelf.get(deletedKey(recordId))) !== undefined,

    /** Rewrites a whole record under another lock (or none) in one transaction: a crash leaves the old or the new. */
    async relock(file: RecordFile, lock: LockBox | undefined, key: CryptoKey | undefined): Promise<void> {
      const old: Change[] = (await shelf.keys(chunkPrefix(file.recordId))).map((place) => ({
        kind: 'remove',
        key: place,
      }));
      const whole = await wholeChanges(file, lock, key);
      await shelf.write([
        ...old,
        ...whole.map((change) => (change.kind === 'add' ? { ...change, kind: 'put' as const } : change)),
      ]);
    },

    /** Puts another box around the same key, after a change of passphrase. */
    async rebox(recordId: string, lock: LockBox): Promise<void> {
      const header = await shelf.get<Header>(headerKey(recordId));
      if (header) await shelf.write([{ kind: 'put', key: headerKey(recordId), value: { ...header, lock } }]);
    },

    /** How many events the list of records counted; undefined where the record is not in the list. */
    counted: async (recordId: string) => (await shelf.get<RecordSummary>(summaryKey(recordId)))?.eventCount,

    /** What the outbox holds of this record; `waiting` where something is not delivered yet. */
    async documents(recordId: string): Promise<{ items: OutboxItem[]; waiting: boolean }> {
      const all = (await shelf.list<OutboxItem>(['outbox'])).filter((item) => 'state' in item);
      const items = all.filter((item) => item.recordId === recordId);
      return { items, waiting: items.some(({ state }) => state.kind !== 'accepted') };
    },

    /** Keeps of delivered documents only what names no person. */
    keepDocuments: (items: readonly OutboxItem[]) =>
      shelf.write(
        items.map((item) => ({
          kind: 'put',
          key: ['outbox', item.identifier.value],
          value: { ...item, reference: '', bundle: '' },
        })),
      ),

    summaries: () => shelf.list<RecordSummary>(['summary']),

    remove: (recordId: string) =>
      shelf.write([
        { kind: 'remove', key: headerKey(recordId) },
        { kind: 'remove', key: summaryKey(recordId) },
        { kind: 'remove-all', prefix: chunkPrefix(recordId) },
        { kind: 'remove-all', prefix: ['audio', recordId] },
        { kind: 'remove', key: ['audio-lock', recordId] },
        { kind: 'remove', key: ['sharing', recordId] },
        // What happened when in the drill that it is the record of.
        { kind: 'remove', key: ['drill', recordId] },
        { kind: 'put', key: deletedKey(recordId), value: true },
      ]),
  };
}
