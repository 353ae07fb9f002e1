import 'fake-indexeddb/auto';
import { describe, expect, test } from 'vitest';
import { asShelfError, indexedDbShelf, memoryShelf, ShelfError, type Shelf } from '../../src/store/shelf.ts';

const shelves: [string, () => Shelf][] = [
  ['IndexedDB', () => indexedDbShelf(crypto.randomUUID())],
  ['memory', memoryShelf],
];

describe.each(shelves)('shelf in %s', (_name, open) => {
  test('keeps values in key order and finds those under a prefix', async () => {
    const shelf = open();
    await shelf.write([
      { kind: 'put', key: ['events', 'b', 0], value: 'b0' },
      { kind: 'put', key: ['events', 'a', 10], value: 'a10' },
      { kind: 'put', key: ['events', 'a', 9], value: 'a9' },
      { kind: 'put', key: ['header', 'a'], value: 'header' },
    ]);
    expect(await shelf.list(['events', 'a'])).toEqual(['a9', 'a10']);
    expect(await shelf.last(['events', 'a'])).toBe('a10');
    expect(await shelf.last(['events', 'c'])).toBeUndefined();
    expect(await shelf.get(['header', 'a'])).toBe('header');
    expect(await shelf.keys(['events'])).toEqual([
      ['events', 'a', 9],
      ['events', 'a', 10],
      ['events', 'b', 0],
    ]);
    await shelf.write([{ kind: 'remove-all', prefix: ['events', 'a'] }]);
    expect(await shelf.list([])).toEqual(['b0', 'header']);
    await shelf.write([{ kind: 'remove-all', prefix: [] }]);
    expect(await shelf.keys([])).toEqual([]);
  });

  test('a write is all or nothing, and a taken place is never written over', async () => {
    const shelf = open();
    await shelf.write([{ kind: 'add', key: ['events', 'a', 0], value: 'first' }]);
    const second = shelf.write([
      { kind: 'put', key: ['summary', 'a'], value: 'changed' },
      { kind: 'add', key: ['events', 'a', 0], value: 'second' },
    ]);
    await expect(second).rejects.toMatchObject({ problem: 'taken' });
    expect(await shelf.get(['events', 'a', 0])).toBe('first');
    expect(await shelf.get(['summary', 'a'])).toBeUndefined();
  });

  test('a value that cannot be stored leaves nothing behind and the shelf usable', async () => {
    const shelf = open();
    const bad = shelf.write([
      { kind: 'put', key: ['x', 1], value: 'fine' },
      { kind: 'put', key: ['x', 2], value: () => {} },
    ]);
    await expect(bad).rejects.toThrow();
    await shelf.write([{ kind: 'put', key: ['x', 3], value: 'later' }]);
    expect(await shelf.get(['x', 3])).toBe('later');
  });

  test('what was written does not change with the object that it came from', async () => {
    const shelf = open();
    const value = { list: [1] };
    await shelf.write([{ kind: 'put', key: ['x'], value }]);
    value.list.push(2);
    const read = await shelf.get<{ list: number[] }>(['x']);
    expect(read).toEqual({ list: [1] });
    read!.list.push(3);
    expect(await shelf.get(['x'])).toEqual({ list: [1] });
  });
});

test('IndexedDB: a database deleted under the app is opened afresh', async () => {
  const name = crypto.randomUUID();
  const shelf = indexedDbShelf(name);
  await shelf.write([{ kind: 'put', key: ['x'], value: 1 }]);
  await new Promise<void>((done, fail) => {
    const request = indexedDB.deleteDatabase(name);
    request.onsuccess = () => done();
    request.onerror = () => fail(request.error);
  });
  expect(await shelf.get(['x'])).toBeUndefined();
  await shelf.write([{ kind: 'put', key: ['x'], value: 2 }]);
  expect(await shelf.get(['x'])).toBe(2);
});

test('errors of the browser become named problems', () => {
  const named = (name: string) => asShelfError(new DOMException('', name)).problem;
  expect(named('QuotaExceededError')).toBe('storage-full');
  expect(named('SecurityError')).toBe('storage-blocked');
  expect(named('InvalidStateError')).toBe('storage-gone');
  expect(named('ConstraintError')).toBe('taken');
  expect(named('UnknownError')).toBe('storage-failed');
  expect(asShelfError(new ShelfError('storage-full')).problem).toBe('storage-full');
  expect(asShelfError('text').problem).toBe('storage-failed');
});
