import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import { axeProblems } from './axe.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { beginRecord, button } from './live-steps.ts';
import { OPENER } from './page-keys.ts';

const WAV = join(import.meta.dirname, '../../static/practice/posterior-arm.wav');
const PASSPHRASE = 'invented words';

let server: AppServer;
let app: OpenApp;
let page: Page;
let recordId = '';
beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { microphoneWav: WAV });
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

interface Kept {
  utterances: string[];
  sounds: string[];
  locks: number;
  /** Bytes of anything in the database that is not text, but for salts, nonces and wrapped keys. */
  binaryBytes: number;
  /** A WAV's head or plain samples among them. */
  plainSound: boolean;
  /** Characters of the longest text: half a second of sound written as text would have 20,000. */
  longestText: number;
}

type Opener = () => Promise<(value: unknown) => Promise<unknown>>;

/** Looks through the whole database, past the app's own code. Goes as text into the page, whose policy takes no eval. */
const kept = (): Promise<Kept> => page.evaluate<Kept>(`(${lookThrough.toString()})(${OPENER})`);

async function lookThrough(opener: Opener): Promise<Kept> {
  const open = await opener();
  const wait = <T>(request: IDBRequest<T>) =>
    new Promise<T>((done, fail) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
  const database = await wait(indexedDB.open('utterlog'));
  const all = database.transaction('kept').objectStore('kept');
  const [keys, values] = await Promise.all([wait(all.getAllKeys()), wait(all.getAll())]);
  database.close();
  // What is sealed with the record's own key is opened first: its ciphertext could hide sound among the words.
  const opened = await Promise.all(
    values.map(async (value: { recordId?: string; secret?: unknown }) => {
      if (!value?.secret) return open(value);
      const { secret, ...rest } = value;
      return { ...rest, secret: await open({ sealed: secret, recordId: value.recordId }) };
    }),
  );
  const found = {
    utterances: [] as string[],
    sounds: [] as string[],
    locks: 0,
    binaryBytes: 0,
    plainSound: false,
    longestText: 0,
  };
  const walk = (value: unknown): void => {
    if (value instanceof ArrayBuffer || ArrayBuffer.isView(value)) {
      const bytes = ArrayBuffer.isView(value)
        ? new Uint8Array(value.buffer, value.byteOffset, value.byteLength)
        : new Uint8Array(value);
      if (bytes.length <= 64) return;
      found.binaryBytes += bytes.length;
      const counts = new Array<number>(256).fill(0);
      for (const byte of bytes) counts[byte]! += 1;
      const words = new TextDecoder('latin1').decode(bytes);
      // Speech in 16 bits has zeros everywhere; ciphertext has each byte about as often.
      if (/RIFF|WAVEfmt/.test(words) || Math.max(...counts) > (bytes.length / 256) * 2 + 50)
        found.plainSound = true;
    } else if (value instanceof Blob) found.plainSound = true;
    else if (typeof value === 'string') found.longestText = Math.max(found.longestText, value.length);
    else if (typeof value === 'object' && value !== null) Object.values(value).forEach(walk);
  };
  opened.forEach((value, at) => {
    const [kind, , id] = keys[at] as string[];
    if (kind === 'audio') found.sounds.push(id!);
    if (kind === 'audio-lock') found.locks += 1;
    if (kind === 'events') {
      for (const event of value as { kind: string; utteranceId: string }[]) {
        if (event.kind === 'utterance') found.utterances.push(event.utteranceId);
      }
    }
    walk(value);
  });
  return found;
}

async function until(what: (now: Kept) => boolean): Promise<Kept> {
  for (const begun = Date.now(); ;) {
    const now = await kept();
    if (what(now)) return now;
    if (Date.now() - begun > 90_000) throw new Error(`not reached: ${JSON.stringify(now)}`);
    await page.waitForTimeout(500);
  }
}

test('off: call-outs are heard, and no sound is written anywhere', async () => {
  await beginRecord(page, 'practice');
  recordId = page.url().split('/').at(-1)!;
  const now = await until(({ utterances }) => utterances.length >= 1);
  expect(now).toMatchObject({ sounds: [], locks: 0, binaryBytes: 0, plainSound: false });
  expect(now.longestText).toBeLessThan(1_000);
});

test('chosen with a passphrase: only ciphertext is written, of what is heard from then on', async () => {
  // Reachable at the narrowest width, where it is chosen.
  await page.setViewportSize({ width: 360, height: 640 });
  await button(page, 'Keep the sound').click();
  const dialog = page.getByRole('dialog', { name: 'Sound of this record' });
  await dialog.getByText('A forgotten passphrase is final').waitFor();
  expect(await axeProblems(page)).toEqual([]);
  const keep = dialog.getByRole('button', { name: 'Keep the sound of this record' });
  const [first, second] = [
    dialog.getByLabel('Passphrase for the sound', { exact: true }),
    dialog.getByLabel('Passphrase for the sound once more'),
  ];
  await first.fill('short');
  await second.fill('short');
  await keep.click();
  await dialog.getByText('The passphrase is too short').waitFor();
  await first.fill(PASSPHRASE);
  await keep.click();
  await dialog.getByText('The two passphrases differ').waitFor();
  expect(await kept()).toMatchObject({ sounds: [], locks: 0 });
  await second.fill(PASSPHRASE);
  const before = (await kept()).utterances.length;
  await keep.click();
  await dialog.getByText('Sound is being kept now').waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
  await button(page, 'Sound is kept').waitFor();
  await page.setViewportSize({ width: 1280, height: 800 });
  const now = await until(({ sounds }) => sounds.length >= 2);
  expect(now.plainSound).toBe(false);
  expect(now.longestText).toBeLessThan(1_000);
  expect(now.binaryBytes).toBeGreaterThan(20_000);
  expect(now.locks).toBe(1);
  for (const id of now.sounds) expect(now.utterances.slice(before)).toContain(id);
});

test('stopped: call-outs go on, no more sound comes', async () => {
  await button(page, 'Sound is kept').click();
  const dialog = page.getByRole('dialog', { name: 'Sound of this record' });
  await dialog.getByRole('button', { name: 'Stop keeping sound' }).click();
  await dialog.getByRole('button', { name: 'Close' }).click();
  await button(page, 'Keep the sound').waitFor();
  // One that was being written when the choice was made may still arrive.
  await page.waitForTimeout(500);
  const at = await kept();
  const later = await until(({ utterances }) => utterances.length >= at.utterances.length + 1);
  expect(later.sounds).toEqual(at.sounds);
});

test('in the review an utterance is heard with the passphrase; a wrong one destroys nothing', async () => {
  const before = await kept();
  await page.goto(server.url);
  await page.reload();
  const wanted = before.sounds[0]!;
  await page.goto(`${server.url}#/review/${recordId}`);
  await page.locator('[data-row]').first().waitFor();
  // The row of the entry that came of this utterance, or of the utterance itself.
  for (const line of await page.locator('[data-line]').all()) {
    await line.click();
    await page.locator('.origin').waitFor();
    await page.waitForTimeout(150);
    if ((await page.getByLabel('Passphrase, to hear the sound').count()) > 0) break;
  }
  const field = page.getByLabel('Passphrase, to hear the sound');
  await field.fill('invented worms');
  await button(page, 'Open the sound').first().click();
  await page.locator('.origin').getByText('This passphrase does not open the sound').waitFor();
  expect(await kept()).toEqual(before);
  await field.fill(PASSPHRASE);
  await page.locator('.origin').getByRole('button', { name: 'Open the sound' }).click();
  const player = page.locator('.origin audio');
  await player.waitFor();
  expect(await axeProblems(page)).toEqual([]);
  // Whole: none is kept of one that was being said when keeping was chosen.
  await page.waitForFunction(() => Number(document.querySelector('audio')?.duration) > 0.4);
  const duration = await player.evaluate((audio: HTMLAudioElement) => audio.duration);
  expect(duration).toBeLessThan(15);
  expect((await kept()).sounds).toContain(wanted);
});

test('deleting takes all sound of the record, and the record stays', async () => {
  const before = await kept();
  const facts = page.locator('section', { has: page.getByRole('heading', { name: 'Sound of this record' }) });
  await facts.getByRole('button', { name: 'Delete the sound' }).click();
  await facts.getByRole('button', { name: 'Delete all sound of this record for good' }).click();
  await facts.getByText('The sound was deleted. The record is unchanged.').waitFor();
  const after = await kept();
  expect(after).toMatchObject({ sounds: [], locks: 0, binaryBytes: 0 });
  expect(after.utterances).toEqual(before.utterances);
});

test('no error was logged and nothing left this origin', () => {
  expect(app.errors).toEqual([]);
  expect(app.foreign).toEqual([]);
});
