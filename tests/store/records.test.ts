import { beforeEach, expect, test, vi } from 'vitest';
import { sealEvents, verifyChain } from '../../src/core/log/chain.ts';
import type { EventBody, LogEvent, RecordFile } from '../../src/core/log/events.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { createRecordStore } from '../../src/store/records.ts';
import { memoryShelf, ShelfError, type Shelf, type StorageProblem } from '../../src/store/shelf.ts';

const begin = (recordId: string, reference = ''): RecordFile =>
  createRecordFile({
    recordId,
    mode: 'real',
    reference,
    wallMs: 0,
    createdAt: `2026-01-0${recordId.length}T00:00:00.000+00:00`,
    timeZone: 'Europe/London',
  });

const made = { by: { kind: 'helper' }, madeAtMs: 5, madeAt: '2026-01-01T00:00:00.005+00:00' } as const;
const entry = (entryId: string, code = 'mcroberts'): EventBody => ({
  kind: 'entry',
  entryId,
  entry: { code },
  atMs: 5,
  timing: 'touch',
});
const makeEntry =
  (entryId: string, code?: string) =>
  (last: LogEvent | null): LogEvent[] =>
    sealEvents(last, [entry(entryId, code)], made);

const idsIn = (file: RecordFile) =>
  file.events.flatMap((event) => (event.kind === 'entry' ? [event.entryId] : []));

/** A shelf that fails on command, as a full disk or a refusing browser does. */
function failing(shelf: Shelf) {
  let problem: StorageProblem | null = null;
  const check = () => {
    if (problem) throw new ShelfError(problem);
  };
  const guarded: Shelf = {
    get: async (key) => (check(), shelf.get(key)),
    list: async (prefix) => (check(), shelf.list(prefix)),
    keys: async (prefix) => (check(), shelf.keys(prefix)),
    last: async (prefix) => (check(), shelf.last(prefix)),
    write: async (changes) => (check(), shelf.write(changes)),
  };
  return { shelf: guarded, fail: (why: StorageProblem | null) => (problem = why) };
}

let base: Shelf;
beforeEach(() => {
  base = memoryShelf();
});

async function fileIn(store: ReturnType<typeof createRecordStore>, recordId: string): Promise<RecordFile> {
  const outcome = await store.readRecord(recordId);
  if (outcome.kind !== 'ok' && outcome.kind !== 'held') throw new Error(outcome.kind);
  return outcome.file;
}

test('appends follow one another, and a new window reads them all', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a', 'bed 4'));
  await store.appendEvents('a', makeEntry('e1'));
  await store.appendEvents('a', makeEntry('e2', 'all-fours'));
  const file = await fileIn(createRecordStore(base, new Map()), 'a');
  expect(idsIn(file)).toEqual(['e1', 'e2']);
  expect(verifyChain(file.events)).toEqual({ kind: 'intact' });
  const { records } = await store.listRecords();
  expect(records).toEqual([
    expect.objectContaining({
      reference: 'bed 4',
      eventCount: 3,
      entryCount: 2,
      codes: ['mcroberts', 'all-fours'],
    }),
  ]);
});

test('two windows that write at the same time lose nothing and keep one chain', async () => {
  const windows = [createRecordStore(base, new Map()), createRecordStore(base, new Map())];
  await windows[0]!.createRecord(begin('a'));
  const ids = Array.from({ length: 40 }, (_, at) => `e${at}`);
  await Promise.all(ids.map((id, at) => windows[at % 2]!.appendEvents('a', makeEntry(id))));
  const file = await fileIn(windows[0]!, 'a');
  expect(idsIn(file).sort()).toEqual([...ids].sort());
  expect(verifyChain(file.events)).toEqual({ kind: 'intact' });
});

test.each(['storage-full', 'storage-blocked', 'storage-gone', 'storage-failed'] as const)(
  '%s: entries go on in memory, told as held, and come to the device once it keeps again',
  async (why) => {
    const device = failing(base);
    const store = createRecordStore(device.shelf, new Map());
    const told: (string | null)[] = [];
    store.onKeeping(({ problem }) => told.push(problem));
    await store.createRecord(begin('a'));
    await store.appendEvents('a', makeEntry('e1'));
    device.fail(why);
    expect(await store.appendEvents('a', makeEntry('e2'))).toMatchObject({ kind: 'held', why });
    expect(await store.appendEvents('a', makeEntry('e3'))).toMatchObject({ kind: 'held', why });
    expect(idsIn(await fileIn(store, 'a'))).toEqual(['e1', 'e2', 'e3']);
    expect((await store.listRecords()).records).toHaveLength(1);
    device.fail(null);
    await store.retryKeeping();
    expect(store.keeping()).toEqual({ problem: null, held: [] });
    expect(told).toEqual([why, null]);
    const file = await fileIn(createRecordStore(base, new Map()), 'a');
    expect(idsIn(file)).toEqual(['e1', 'e2', 'e3']);
    expect(verifyChain(file.events)).toEqual({ kind: 'intact' });
  },
);

test('a record begun while the device keeps nothing is held, and kept later without being asked', async () => {
  vi.useFakeTimers();
  const device = failing(base);
  device.fail('storage-blocked');
  const store = createRecordStore(device.shelf, new Map());
  expect(await store.createRecord(begin('a'))).toEqual({ kind: 'held', why: 'storage-blocked' });
  await store.appendEvents('a', makeEntry('e1'));
  device.fail(null);
  await vi.advanceTimersByTimeAsync(60_000);
  vi.useRealTimers();
  expect(store.keeping().held).toEqual([]);
  expect(idsIn(await fileIn(createRecordStore(base, new Map()), 'a'))).toEqual(['e1']);
});

test('what two windows wrote while one could not keep is joined, nothing lost', async () => {
  const device = failing(base);
  const here = createRecordStore(device.shelf, new Map());
  const there = createRecordStore(base, new Map());
  await here.createRecord(begin('a'));
  device.fail('storage-failed');
  await here.appendEvents('a', makeEntry('here'));
  await there.appendEvents('a', makeEntry('there'));
  device.fail(null);
  await here.retryKeeping();
  const file = await fileIn(there, 'a');
  expect(idsIn(file)).toEqual(['there', 'here']);
  expect(verifyChain(file.events)).toEqual({ kind: 'intact' });
});

test('a database deleted under an open record is written again from memory with the new entry', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a'));
  await store.appendEvents('a', makeEntry('e1'));
  await base.write([{ kind: 'remove-all', prefix: [] }]);
  expect((await store.appendEvents('a', makeEntry('e2'))).kind).toBe('ok');
  expect(idsIn(await fileIn(createRecordStore(base, new Map()), 'a'))).toEqual(['e1', 'e2']);
});

test('a record that a person deleted does not come back from another window', async () => {
  const here = createRecordStore(base, new Map());
  const there = createRecordStore(base, new Map());
  await here.createRecord(begin('a'));
  await there.readRecord('a');
  expect(await here.deleteRecord('a')).toEqual({ kind: 'ok' });
  expect(await there.appendEvents('a', makeEntry('e1'))).toEqual({ kind: 'missing' });
  expect((await here.listRecords()).records).toEqual([]);
});

test('a record is never written over by another of the same id', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a', 'first'));
  expect(await store.createRecord(begin('a', 'second'))).toEqual({ kind: 'exists' });
  expect((await store.listRecords()).records[0]!.reference).toBe('first');
});

test('a clock span comes with the events that begin it, or not at all', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a'));
  const span = { spanId: 1, startMs: 60_000, wallMs: 60_000 };
  await store.appendEvents('a', () => [], span);
  expect((await fileIn(store, 'a')).spans).toHaveLength(1);
  await store.appendEvents('a', makeEntry('e1'), span);
  expect((await fileIn(store, 'a')).spans).toEqual([{ spanId: 0, startMs: 0, wallMs: 0 }, span]);
});

test('a reactive wrapper around an entry does not stop it from being kept', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a'));
  await store.appendEvents('a', (last) => makeEntry('e1')(last).map((event) => new Proxy(event, {})));
  expect(idsIn(await fileIn(store, 'a'))).toEqual(['e1']);
});

test('a record nobody keeps is missing, not made up', async () => {
  const store = createRecordStore(base, new Map());
  expect(await store.readRecord('none')).toEqual({ kind: 'missing' });
  expect(await store.appendEvents('none', makeEntry('e1'))).toEqual({ kind: 'missing' });
});

test('a database cleared under an open, idle record is written again at once, without a new entry', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a'));
  await store.appendEvents('a', makeEntry('e1'));
  expect(await store.ensureKept('a')).toBe('there');
  await base.write([{ kind: 'remove-all', prefix: [] }]);
  expect(await store.ensureKept('a')).toBe('brought-back');
  expect(idsIn(await fileIn(createRecordStore(base, new Map()), 'a'))).toEqual(['e1']);
});

test('a record that a person deleted is not brought back', async () => {
  const store = createRecordStore(base, new Map());
  await store.createRecord(begin('a'));
  await createRecordStore(base, new Map()).deleteRecord('a');
  expect(await store.ensureKept('a')).toBe('deleted');
  expect((await createRecordStore(base, new Map()).listRecords()).records).toEqual([]);
});

test('a device that cannot take it back: the record is held, and told', async () => {
  const device = failing(base);
  const store = createRecordStore(device.shelf, new Map());
  await store.createRecord(begin('a'));
  await base.write([{ kind: 'remove-all', prefix: [] }]);
  const { write } = device.shelf;
  device.shelf.write = () => Promise.reject(new ShelfError('storage-full'));
  expect(await store.ensureKept('a')).toBe('held');
  expect(store.keeping().held).toEqual(['a']);
  device.shelf.write = write;
  await store.retryKeeping();
  expect(idsIn(await fileIn(createRecordStore(base, new Map()), 'a'))).toEqual([]);
  expect(store.keeping().held).toEqual([]);
});
