import { readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';

/** What Chromium writes of itself is left out: compiled code of the app and the like hold none of its data. */
const NOT_OURS =
  /(^|\/)(GPUCache|Code Cache|ShaderCache|GrShaderCache|DawnGraphiteCache|DawnWebGPUCache|CacheStorage)(\/|$)/;

/** Paths of the files under `folder` that hold the word, as UTF-8 or UTF-16. */
function filesWith(folder: string, word: string): string[] {
  const wanted = [Buffer.from(word, 'utf8'), Buffer.from(word, 'utf16le')];
  return readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((path) => {
    if (NOT_OURS.test(path)) return false;
    try {
      if (!statSync(join(folder, path)).isFile()) return false;
      const bytes = readFileSync(join(folder, path));
      return wanted.some((one) => bytes.includes(one));
    } catch {
      // A file that the browser removed meanwhile.
      return false;
    }
  });
}

let server: AppServer;
let app: OpenApp;
const profiles: string[] = [];
beforeAll(async () => {
  server = await startServer();
});
afterAll(async () => {
  await app?.close();
  server?.stop();
  for (const profile of profiles) rmSync(profile, { recursive: true, force: true });
});

async function open(profile?: string): Promise<void> {
  app = await openApp(server, { profile, viewport: { width: 1600, height: 900 } });
  profiles.push(app.profile);
}

/** Begins a record and types a call-out with the word in it; gives the record's id. */
async function say(word: string): Promise<string> {
  const { page } = app;
  await page.goto(server.url);
  await page.locator('input[type=radio][value=practice]').check();
  await page.locator('button.big').click();
  await page.waitForURL(/#\/live\//);
  await page.locator('form input').first().fill(`note ${word}`);
  await page.locator('form button[type=submit]').first().click();
  await page.locator('[data-entry]').first().waitFor();
  expect(await page.locator('[data-entry]').first().innerText()).toContain(word);
  return page.url().split('/').at(-1)!;
}

/** Names of the folders in which keys lie. */
const keyPlaces = () =>
  app.page.evaluate(() =>
    (navigator as never as { storageBuckets: { keys: () => Promise<string[]> } }).storageBuckets.keys(),
  );

test('the search finds what lies there in the open', async () => {
  await open();
  await app.page.evaluate(
    () =>
      new Promise<void>((done) => {
        const request = indexedDB.open('plain', 1);
        request.onupgradeneeded = () => request.result.createObjectStore('s', { autoIncrement: true });
        request.onsuccess = () => {
          const writing = request.result.transaction('s', 'readwrite', { durability: 'strict' });
          writing.objectStore('s').put({ words: 'quagmirex in the open' });
          writing.oncomplete = () => done();
        };
      }),
  );
  expect(filesWith(app.profile, 'quagmirex').length).toBeGreaterThan(0);
  await app.close();
});

test('what was said is in no file while it is kept, after the browser ended, after locking and after erasing', async () => {
  const word = `xylopha${Date.now().toString(36)}qj`;
  await open();
  const recordId = await say(word);
  expect(filesWith(app.profile, word), 'while it runs').toEqual([]);
  const { profile } = app;
  await app.close(false);
  expect(filesWith(profile, word), 'after the browser ended').toEqual([]);
  await open(profile);
  await app.page.goto(`${server.url}#/live/${recordId}`);
  await app.page.getByText(word).first().waitFor();
  await app.page.goto(`${server.url}#/after/${recordId}`);
  await app.page.getByRole('button', { name: 'The emergency is over' }).click();
  await app.page.goto(`${server.url}#/review/${recordId}`);
  const before = await keyPlaces();
  await app.page.getByText('Lock with a passphrase').click();
  await Promise.all([
    app.page.waitForEvent('download'),
    app.page.getByRole('button', { name: 'Save a copy of the record' }).click(),
  ]);
  await app.page.getByLabel('Passphrase', { exact: true }).fill('four invented words here');
  await app.page.getByLabel('Passphrase once more').fill('four invented words here');
  await app.page.getByRole('button', { name: 'Lock', exact: true }).click();
  await app.page.getByText('Locked. It stays open in this window').waitFor();
  expect(filesWith(profile, word), 'after locking').toEqual([]);
  // The key that opened it without the passphrase is gone with its place.
  const now = await keyPlaces();
  expect(now).toHaveLength(1);
  expect(now).not.toEqual(before);
  await app.page.reload();
  await app.page.getByRole('heading', { level: 1, name: 'This record is locked' }).waitFor();
  await app.page.getByLabel('Passphrase').fill('four invented words here');
  await app.page.getByRole('button', { name: 'Unlock' }).click();
  await app.page.getByText(word).first().waitFor();
  await app.page.goto(`${server.url}#/settings`);
  await app.page.getByRole('button', { name: 'Erase everything' }).first().click();
  await app.page.getByLabel('Type “erase”').fill('erase');
  await app.page.getByRole('dialog').getByRole('button', { name: 'Erase everything' }).click();
  await app.page.waitForURL(/#\/$/);
  await app.page.waitForTimeout(1_000);
  expect(filesWith(profile, word), 'after erasing').toEqual([]);
  await app.close(false);
  expect(filesWith(profile, word), 'after erasing and closing').toEqual([]);
});
