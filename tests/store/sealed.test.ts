import { expect, test } from 'vitest';
import { sealEvents } from '../../src/core/log/chain.ts';
import type { LogEvent } from '../../src/core/log/events.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { createKeyStore, type KeyShelves } from '../../src/store/key-store.ts';
import { createDiscarded } from '../../src/store/discarded.ts';
import { createOutbox } from '../../src/store/outbox.ts';
import { createRecordStore } from '../../src/store/records.ts';
import { sealOldRecords } from '../../src/store/seal-old.ts';
import { sealedShelf } from '../../src/store/sealed-shelf.ts';
import { finishDestroying } from '../../src/store/unclean-end.ts';
import { memoryShelf, type Shelf } from '../../src/store/shelf.ts';

const createdAt = '2026-01-01T00:00:00.000+00:00';
const record = (recordId: string, reference = 'bed four') =>
  createRecordFile({ recordId, mode: 'real', reference, wallMs: 0, createdAt, timeZone: 'Europe/London' });
const made = { by: { kind: 'helper' }, madeAtMs: 5, madeAt: createdAt } as const;
const add = (text: string) => (last: LogEvent | null) =>
  sealEvents(
    last,
    [{ kind: 'entry', entryId: text, entry: { code: 'free-note', text }, atMs: 5, timing: 'typed' }],
    made,
  );

/** Places of keys in memory; `cut` lets the next move end in the middle. */
function places() {
  const all = new Map<number, Shelf>();
  const shelves: KeyShelves = {
    numbers: async () => [...all.keys()].sort((a, b) => a - b),
    shelf: (number) => {
      const shelf = all.get(number) ?? memoryShelf();
      all.set(number, shelf);
      return shelf;
    },
    remove: async (number) => void all.delete(number),
    alone: (work) => work(),
  };
  return { all, shelves };
}

function device() {
  const base = memoryShelf();
  const { all, shelves } = places();
  const window = () => {
    const keys = createKeyStore(shelves);
    const shelf = sealedShelf(base, keys);
    const store = createRecordStore(shelf, new Map(), async () => false, undefined, keys.destroy);
    return { keys, shelf, store };
  };
  return { base, all, window };
}

async function readable(base: Shelf): Promise<string> {
  return (await base.list([]))
    .map((value) =>
      JSON.stringify(value, (_key, part: unknown) =>
        part instanceof ArrayBuffer ? Buffer.from(part).toString('latin1') : part,
      ),
    )
    .join('\n');
}

const entriesIn = (outcome: Awaited<ReturnType<ReturnType<typeof createRecordStore>['readRecord']>>) => {
  if (outcome.kind !== 'ok') throw new Error(outcome.kind);
  return outcome.file.events.flatMap((event) => (event.kind === 'entry' ? [event.entryId] : []));
};

test('from the first byte nothing that was said or typed lies readable; another window reads it', async () => {
  const { base, window } = device();
  const { store } = window();
  await store.createRecord(record('a'));
  await store.appendEvents('a', add('zanzibar words'));
  const bytes = await readable(base);
  for (const word of ['bed four', 'zanzibar', 'free-note']) expect(bytes).not.toContain(word);
  const second = window().store;
  expect(entriesIn(await second.readRecord('a'))).toEqual(['zanzibar words']);
  expect((await second.listRecords()).records[0]).toMatchObject({
    reference: 'bed four',
    codes: ['free-note'],
  });
});

test('each record has a key of its own, which the browser does not hand out', async () => {
  const { window } = device();
  const { store, keys } = window();
  for (const id of ['a', 'b']) await store.createRecord(record(id));
  const [one, two] = [await keys.forReading('a'), await keys.forReading('b')];
  expect(one).not.toBe(two);
  await expect(crypto.subtle.exportKey('raw', one!)).rejects.toThrow();
});

test('locking destroys the key that opened the record without a passphrase, with its place; the others move on', async () => {
  const { base, all, window } = device();
  const { store } = window();
  await store.createRecord(record('a'));
  await store.createRecord(record('b'));
  await store.appendEvents('a', add('zanzibar words'));
  const old = (await base.list<unknown[]>(['events', 'a'])).map((value) => structuredClone(value));
  expect(old.length).toBeGreaterThan(0);
  expect([...all.keys()]).toEqual([1]);
  expect(await store.lockRecord('a', 'four words said once')).toEqual({ kind: 'ok' });
  expect([...all.keys()]).toEqual([2]);
  const later = window();
  expect(await later.keys.forReading('a')).toBeUndefined();
  expect(await later.store.readRecord('a')).toEqual({ kind: 'locked' });
  expect(await later.store.unlockRecord('a', 'four words said once')).toEqual({ kind: 'ok' });
  expect(entriesIn(await later.store.readRecord('a'))).toEqual(['zanzibar words']);
  expect((await later.store.readRecord('b')).kind).toBe('ok');
  expect(await readable(base)).not.toContain('bed four');
}, 60_000);

test('a window that did not move the keys finds them in the new place', async () => {
  const { window } = device();
  const here = window();
  const there = window();
  await here.store.createRecord(record('a'));
  await there.store.createRecord(record('b'));
  await here.store.deleteRecord('a');
  await here.store.settleDeleted();
  expect(await there.store.appendEvents('b', add('still kept'))).toMatchObject({ kind: 'ok' });
  expect(entriesIn(await window().store.readRecord('b'))).toEqual(['still kept']);
});

test('deleting and erasing destroy keys', async () => {
  const { all, window } = device();
  const { store, keys } = window();
  await store.createRecord(record('a'));
  await store.createRecord(record('b'));
  await store.deleteRecord('a');
  await store.settleDeleted();
  expect(await window().keys.forReading('a')).toBeUndefined();
  expect(await window().keys.forReading('b')).toBeDefined();
  await keys.destroyAll();
  expect(all.size).toBe(0);
});

test('what was put away lies sealed, comes back whole, and its key goes with it', async () => {
  const { base, window } = device();
  const { store, shelf, keys } = window();
  const away = createDiscarded(shelf, store, keys);
  await store.createRecord(record('a'));
  await store.createRecord(record('b'));
  await store.appendEvents('a', add('zanzibar words'));
  const before = await store.readRecord('a');
  expect(await away.discardRecord('a', 1_000)).toBe(true);
  const bytes = await readable(base);
  for (const word of ['bed four', 'zanzibar', 'free-note']) expect(bytes).not.toContain(word);
  // The key of the record itself is gone, that of what was put away is there.
  expect([...(await window().keys.all()).keys()].sort()).toEqual(['b', 'discarded a']);
  expect(await away.listDiscarded(999)).toMatchObject([{ recordId: 'a', untilMs: 1_000 }]);
  const later = window();
  expect(await createDiscarded(later.shelf, later.store, later.keys).fetchBack('a')).toBe(true);
  // The first window deletes another record: what came back keeps its key.
  await store.deleteRecord('b');
  await store.settleDeleted();
  expect([...(await window().keys.all()).keys()]).toEqual(['a']);
  expect(await window().store.readRecord('a')).toEqual(before);
});

test('what was put away and is past its time goes with its key', async () => {
  const { base, window } = device();
  const { store, shelf, keys } = window();
  const away = createDiscarded(shelf, store, keys);
  await store.createRecord(record('a'));
  await away.discardRecord('a', 1_000);
  expect(await away.listDiscarded(1_000)).toEqual([]);
  expect(await base.list(['discarded'])).toEqual([]);
  expect((await window().keys.all()).size).toBe(0);
});

test('a record that came back before its deletion was settled keeps its key', async () => {
  const { window } = device();
  const { store } = window();
  await store.createRecord(record('a'));
  const outcome = await store.readRecord('a');
  if (outcome.kind !== 'ok') throw new Error(outcome.kind);
  await store.deleteRecord('a');
  await window().store.createRecord(outcome.file);
  await store.settleDeleted();
  expect((await window().store.readRecord('a')).kind).toBe('ok');
});

test('a move that was cut off leaves the keys where they were', async () => {
  const { all, window } = device();
  const { store } = window();
  await store.createRecord(record('a'));
  await store.appendEvents('a', add('kept'));
  // The copy had begun, its last word is missing.
  all.set(2, memoryShelf());
  expect(entriesIn(await window().store.readRecord('a'))).toEqual(['kept']);
});

test('after an unclean end the keys move to a new place without those that were to be destroyed', async () => {
  const { all, window } = device();
  const { store, keys } = window();
  await store.createRecord(record('a'));
  await store.createRecord(record('b'));
  await keys.renew(['a']);
  expect([...all.keys()]).toEqual([2]);
  expect(await window().keys.forReading('a')).toBeUndefined();
  expect((await window().store.readRecord('b')).kind).toBe('ok');
});

test('cut off between locking or deleting and the destruction of the key: done at the next start', async () => {
  const { base, window } = device();
  const { keys, shelf } = window();
  // This one never comes to destroying keys.
  const cutOff = createRecordStore(shelf, new Map(), async () => false);
  for (const id of ['a', 'b', 'c', 'd']) await cutOff.createRecord(record(id));
  await cutOff.lockRecord('a', 'four words said once');
  await cutOff.deleteRecord('b');
  await createDiscarded(shelf, cutOff, keys).discardRecord('c', 1_000);
  expect((await window().keys.all()).has('a')).toBe(true);
  const next = window();
  await finishDestroying(base, next.keys);
  expect([...(await window().keys.all()).keys()].sort()).toEqual(['d', 'discarded c']);
  const later = window();
  expect(await createDiscarded(later.shelf, later.store, later.keys).fetchBack('c')).toBe(true);
  expect((await later.store.readRecord('d')).kind).toBe('ok');
}, 60_000);

test('storage cleared with the keys under an open record: both are written again, and read by a new window', async () => {
  const { base, all, window } = device();
  const { store } = window();
  await store.createRecord(record('a'));
  await store.appendEvents('a', add('kept'));
  await base.write([{ kind: 'remove-all', prefix: [] }]);
  for (const keys of all.values()) await keys.write([{ kind: 'remove-all', prefix: [] }]);
  expect(await store.ensureKept('a')).toBe('brought-back');
  expect(entriesIn(await window().store.readRecord('a'))).toEqual(['kept']);
});

test('a key that was lost makes the record damaged, never an empty one', async () => {
  const { all, window } = device();
  await window().store.createRecord(record('a'));
  all.clear();
  expect(await window().store.readRecord('a')).toEqual({ kind: 'damaged' });
  expect((await window().store.listRecords()).records[0]).toMatchObject({ recordId: 'a', reference: '' });
});

test('the outbox is sealed; a record whose document waits is neither locked nor deleted', async () => {
  const { base, window } = device();
  const { store, shelf } = window();
  await store.createRecord(record('a'));
  const outbox = createOutbox(shelf);
  const item = {
    identifier: { system: 's', value: 'v' },
    recordId: 'a',
    reference: 'bed four',
    address: 'https://fhir.example',
    queuedAt: createdAt,
    bundle: '{"said":"zanzibar"}',
    state: { kind: 'waiting', tries: 0, nextAtMs: 0, sentBefore: false },
  } as const;
  await outbox.add(item);
  expect(await readable(base)).not.toMatch(/zanzibar|bed four/);
  expect(await outbox.items()).toEqual([item]);
  expect(await store.lockRecord('a', 'four words said once')).toEqual({ kind: 'waits-to-be-sent' });
  expect(await store.deleteRecord('a')).toEqual({ kind: 'waits-to-be-sent' });
  await outbox.update({ ...item, state: { kind: 'accepted', at: '', location: '', wasThere: false } });
  expect(await store.lockRecord('a', 'four words said once')).toEqual({ kind: 'ok' });
  const [left] = await createOutbox(window().shelf).items();
  expect(left).toMatchObject({ recordId: 'a', reference: '', bundle: '', state: { kind: 'accepted' } });
}, 60_000);

test('what a version before kept readable is sealed at the start, piece by piece; sealed and locked ones are left', async () => {
  const { base, window } = device();
  // As it was kept before: straight on the shelf.
  const old = createRecordStore(base, new Map(), async () => false);
  await old.createRecord(record('old', 'distinctive reference'));
  await old.appendEvents('old', add('distinctive words'));
  const { store, shelf } = window();
  await store.createRecord(record('new'));
  const lying = async () => JSON.stringify(await base.list([]));
  expect(await lying()).toContain('distinctive');
  expect(await sealOldRecords(base, shelf)).toBeGreaterThan(1);
  expect(await lying()).not.toContain('distinctive');
  expect(await sealOldRecords(base, shelf)).toBe(0);
  const read = await window().store.readRecord('old');
  expect(JSON.stringify(read)).toContain('distinctive words');
  expect((await window().store.listRecords()).records.map(({ reference }) => reference)).toContain(
    'distinctive reference',
  );
});

test('with a practice record goes what its drill says happened', async () => {
  const { base, window } = device();
  const { store, shelf } = window();
  await store.createRecord(record('drill-record'));
  await shelf.write([{ kind: 'put', key: ['drill', 'drill-record'], value: { marks: ['distinctive'] } }]);
  await store.deleteRecord('drill-record');
  expect(JSON.stringify(await base.list([]))).not.toContain('distinctive');
});

test('keys that move on in the middle of a look for one are found at their new place', async () => {
  const { all, window } = device();
  const { keys } = window();
  await keys.forWriting('a');
  const { keys: reader } = window();
  const first = all.get(1)!;
  let moved = false;
  all.set(1, {
    ...first,
    get: async <T>(place: Parameters<Shelf['get']>[0]) => {
      if (place[0] === 'key' && !moved) {
        moved = true;
        await keys.renew([]);
        await first.write([{ kind: 'remove-all', prefix: [] }]);
      }
      return first.get<T>(place);
    },
  });
  expect(await reader.forReading('a')).toBeInstanceOf(CryptoKey);
  expect(moved).toBe(true);
});
