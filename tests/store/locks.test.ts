import { beforeEach, expect, test, vi } from 'vitest';
import { sealEvents, verifyRecord } from '../../src/core/log/chain.ts';
import type { EventBody, LogEvent } from '../../src/core/log/events.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { createAudioStore } from '../../src/store/kept-audio.ts';
import {
  changeLock,
  ITERATIONS,
  newLock,
  openLock,
  seal,
  sealJson,
  unseal,
} from '../../src/store/keyring.ts';
import { createRecordStore } from '../../src/store/records.ts';
import { memoryShelf, type Shelf } from '../../src/store/shelf.ts';

// The derivation is slow on purpose.
vi.setConfig({ testTimeout: 60_000 });

const PASSPHRASE = 'four words said once';
const made = { by: { kind: 'helper' }, madeAtMs: 5, madeAt: '2026-01-01T00:00:00.005+00:00' } as const;
const note = (text: string): EventBody => ({
  kind: 'entry',
  entryId: text,
  entry: { code: 'free-note', text },
  atMs: 5,
  timing: 'typed',
});
const add = (text: string) => (last: LogEvent | null) => sealEvents(last, [note(text)], made);

let shelf: Shelf;
const newWindow = () => createRecordStore(shelf, new Map());

async function storeWithRecord() {
  const store = newWindow();
  const createdAt = '2026-01-01T00:00:00.000+00:00';
  const timeZone = 'Europe/London';
  await store.createRecord(
    createRecordFile({ recordId: 'a', mode: 'real', reference: 'bed four', wallMs: 0, createdAt, timeZone }),
  );
  await store.appendEvents('a', add('secret words'));
  return store;
}

/** All that lies on the shelf, as somebody with the disk in hand would read it. */
async function everythingReadable(): Promise<string> {
  const values = await shelf.list([]);
  return values
    .map((value) =>
      JSON.stringify(value, (_key, part: unknown) =>
        part instanceof ArrayBuffer || ArrayBuffer.isView(part)
          ? Buffer.from(part instanceof ArrayBuffer ? part : part.buffer).toString('latin1')
          : part,
      ),
    )
    .join('\n');
}

beforeEach(() => {
  shelf = memoryShelf();
});

test('the derivation is at least what the OWASP Password Storage Cheat Sheet asks of PBKDF2-HMAC-SHA-256', async () => {
  expect(ITERATIONS).toBeGreaterThanOrEqual(600_000);
  const { box } = await newLock(PASSPHRASE);
  expect(box).toMatchObject({ derivation: 'PBKDF2-HMAC-SHA-256', iterations: ITERATIONS });
  expect(box.salt).toHaveLength(16);
});

test('salt, key and nonce are new each time', async () => {
  const [one, two] = [await newLock(PASSPHRASE), await newLock(PASSPHRASE)];
  expect(one.box.salt).not.toEqual(two.box.salt);
  const bytes = new Uint8Array([1, 2, 3]);
  const [first, second] = [await seal(one.key, bytes), await seal(one.key, bytes)];
  expect(first.iv).not.toEqual(second.iv);
  expect(await unseal(two.key, first)).toBeNull();
});

test('a changed bit is noticed, never decrypted to something else', async () => {
  const { key } = await newLock(PASSPHRASE);
  const sealed = await sealJson(key, { text: 'words' });
  new Uint8Array(sealed.data)[3]! ^= 1;
  expect(await unseal(key, sealed)).toBeNull();
});

test('one passphrase in two spellings of Unicode opens the same lock', async () => {
  const { box } = await newLock('caf\u00e9 at noon');
  expect(await openLock(box, 'cafe\u0301 at noon')).not.toBeNull();
  expect(await openLock(box, 'cafe at noon')).toBeNull();
});

test('a changed passphrase opens the same key; the old one no longer does', async () => {
  const { box, key } = await newLock(PASSPHRASE);
  const sealed = await seal(key, new Uint8Array([7]));
  expect(await changeLock(box, 'wrong wrong', 'another phrase')).toBeNull();
  const changed = (await changeLock(box, PASSPHRASE, 'another phrase'))!;
  expect(await openLock(changed, PASSPHRASE)).toBeNull();
  const opened = (await openLock(changed, 'another phrase'))!;
  expect(new Uint8Array((await unseal(opened, sealed))!)).toEqual(new Uint8Array([7]));
});

test('a locked record is unreadable on the shelf and in another window, until the passphrase is given', async () => {
  const store = await storeWithRecord();
  expect(await everythingReadable()).toContain('secret words');
  expect(await store.lockRecord('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  const readable = await everythingReadable();
  for (const secret of ['secret words', 'bed four', 'free-note', PASSPHRASE])
    expect(readable).not.toContain(secret);
  const other = newWindow();
  expect(await other.readRecord('a')).toEqual({ kind: 'locked' });
  expect(await other.appendEvents('a', add('more'))).toEqual({ kind: 'locked' });
  expect((await other.listRecords()).records[0]).toMatchObject({ locked: true, reference: '', codes: [] });
  expect(await other.unlockRecord('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  const read = await other.readRecord('a');
  expect(read.kind === 'ok' && verifyRecord(read.file)).toEqual({ kind: 'intact' });
});

test('entries added while locked and open are encrypted too', async () => {
  const store = await storeWithRecord();
  await store.lockRecord('a', PASSPHRASE);
  expect((await store.appendEvents('a', add('later words'))).kind).toBe('ok');
  expect(await everythingReadable()).not.toContain('later words');
  store.closeLock('a');
  expect(await store.readRecord('a')).toEqual({ kind: 'locked' });
});

test('wrong passphrases, however many, destroy nothing', async () => {
  const store = await storeWithRecord();
  await store.lockRecord('a', PASSPHRASE);
  store.closeLock('a');
  const before = await everythingReadable();
  for (const wrong of ['', 'wrong words here', PASSPHRASE.toUpperCase()]) {
    // Another window each time: after three wrong ones a window waits.
    const store = newWindow();
    expect(await store.unlockRecord('a', wrong)).toEqual({ kind: 'wrong-passphrase' });
    expect(await store.changePassphrase('a', wrong, 'another phrase')).toEqual({ kind: 'wrong-passphrase' });
    expect(await store.unlockForGood('a', wrong)).toEqual({ kind: 'wrong-passphrase' });
  }
  expect(await everythingReadable()).toBe(before);
  expect(await store.unlockForGood('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  expect(await everythingReadable()).toContain('secret words');
  expect((await newWindow().listRecords()).records[0]).toMatchObject({
    locked: false,
    reference: 'bed four',
  });
});

test('a short passphrase is refused before anything is written', async () => {
  const store = await storeWithRecord();
  expect(await store.lockRecord('a', 'short')).toEqual({ kind: 'too-short', shortest: 8 });
  expect((await newWindow().readRecord('a')).kind).toBe('ok');
});

test('a locked record whose database vanished is written again locked, never in the open', async () => {
  const store = await storeWithRecord();
  await store.lockRecord('a', PASSPHRASE);
  await shelf.write([{ kind: 'remove-all', prefix: [] }]);
  expect((await store.appendEvents('a', add('after'))).kind).toBe('ok');
  expect(await everythingReadable()).not.toContain('secret words');
  const other = newWindow();
  expect(await other.unlockRecord('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  const read = await other.readRecord('a');
  expect(read.kind === 'ok' && read.file.events).toHaveLength(3);
});

test('a locked record can be deleted without the passphrase', async () => {
  const store = await storeWithRecord();
  await store.lockRecord('a', PASSPHRASE);
  expect(await newWindow().deleteRecord('a')).toEqual({ kind: 'ok' });
  expect(await newWindow().readRecord('a')).toEqual({ kind: 'missing' });
});

test('recordings: none unless chosen, encrypted, heard again with the passphrase, deletable without', async () => {
  const audio = createAudioStore(shelf);
  const wav = new TextEncoder().encode('RIFF the sound of a voice');
  expect(await audio.keepAudio('a', 'u1', wav)).toEqual({ kind: 'not-kept' });
  expect(await shelf.keys([])).toEqual([]);
  await audio.chooseAudio('a', PASSPHRASE);
  expect(await audio.keepAudio('a', 'u1', wav)).toEqual({ kind: 'ok' });
  expect(await audio.keepAudio('b', 'u1', wav)).toEqual({ kind: 'not-kept' });
  expect(await everythingReadable()).not.toContain('voice');
  const later = createAudioStore(shelf);
  expect(await later.audioState('a')).toEqual({ kind: 'locked', count: 1 });
  expect(await later.readAudio('a', 'u1')).toEqual({ kind: 'locked' });
  expect(await later.chooseAudio('a', 'wrong wrong wrong')).toEqual({ kind: 'wrong-passphrase' });
  expect(await later.chooseAudio('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  expect(await later.readAudio('a', 'u1')).toEqual({ kind: 'ok', wav });
  expect(await createAudioStore(shelf).deleteAudio('a')).toEqual({ kind: 'ok' });
  expect(await shelf.keys([])).toEqual([]);
  expect(await later.keepAudio('a', 'u2', wav)).toEqual({ kind: 'not-kept' });
});

test('a record that another window records is neither locked nor deleted', async () => {
  await storeWithRecord();
  const second = createRecordStore(shelf, new Map(), async () => true);
  expect(await second.lockRecord('a', PASSPHRASE)).toEqual({ kind: 'running' });
  expect(await second.deleteRecord('a')).toEqual({ kind: 'running' });
  expect((await newWindow().readRecord('a')).kind).toBe('ok');
});

test('locked under a window all the same: what is said goes on in memory, and to the device with the passphrase', async () => {
  const recording = await storeWithRecord();
  expect(await newWindow().lockRecord('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  expect(await recording.appendEvents('a', add('said after'))).toMatchObject({
    kind: 'held',
    why: 'locked-elsewhere',
  });
  await recording.appendEvents('a', add('and this'));
  await recording.retryKeeping();
  expect(recording.keeping()).toEqual({ problem: 'locked-elsewhere', held: ['a'] });
  expect(await recording.unlockRecord('a', 'not the passphrase')).toEqual({ kind: 'wrong-passphrase' });
  expect(await recording.unlockRecord('a', PASSPHRASE)).toEqual({ kind: 'ok' });
  expect(recording.keeping().held).toEqual([]);
  const third = newWindow();
  await third.unlockRecord('a', PASSPHRASE);
  const read = await third.readRecord('a');
  if (read.kind !== 'ok') throw new Error(read.kind);
  expect(read.file.events.flatMap((e) => (e.kind === 'entry' ? [e.entryId] : []))).toEqual([
    'secret words',
    'said after',
    'and this',
  ]);
  expect(verifyRecord(read.file)).toEqual({ kind: 'intact' });
  expect(await everythingReadable()).not.toContain('said after');
});
