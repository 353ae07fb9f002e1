import { unzipSync, zipSync, strToU8 } from 'fflate';
import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import { exportRecord } from '../../src/core/record/export.ts';
import { axeProblems } from './axe.ts';
import { smallRecord } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';

let server: AppServer;
let app: OpenApp;
let page: Page;
const IMPORTED = 24;

beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { path: '#/records' });
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });
const rows = () => page.locator('.box li');
const shown = (count: number, all: number) => page.getByText(`${count} of ${all} records shown.`).waitFor();

test('a ZIP of records is imported, one after the other', async () => {
  const parts = Array.from({ length: IMPORTED }, (_, at) => [
    `${at}.json`,
    strToU8(exportRecord(smallRecord(at))),
  ]);
  const zip = zipSync({ ...Object.fromEntries(parts), 'x.fhir.json': strToU8('{}') } as Record<
    string,
    Uint8Array
  >);
  await page
    .locator('input[type=file]')
    .setInputFiles({ name: 'all.zip', mimeType: 'application/zip', buffer: Buffer.from(zip) });
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText(`${IMPORTED} records imported`).waitFor();
  expect(await axeProblems(page)).toEqual([]);
  await dialog.getByRole('button', { name: 'Close' }).click();
  await shown(IMPORTED, IMPORTED);
});

test('search and filters', async () => {
  await page.getByLabel('Search').fill('invented 23');
  await shown(1, IMPORTED);
  await page.getByLabel('Search').fill('baby delivered');
  await shown(IMPORTED, IMPORTED);
  await page.getByLabel('Search').fill('');
  await page.getByLabel('Kind').selectOption('practice');
  await shown(IMPORTED / 3, IMPORTED);
  expect(await rows().first().innerText()).toContain('PRACTICE');
  await page.getByLabel('State').selectOption('signed');
  await page.getByText('No record fits.').waitFor();
  await page.getByLabel('Kind').selectOption('all');
  await page.getByLabel('State').selectOption('all');
});

test('many are exported as one ZIP', async () => {
  await page.getByLabel('Choose all that are shown').check();
  await button(`Export (${IMPORTED})`).click();
  const dialog = page.getByRole('dialog', { name: /Export \d+ records/ });
  expect(await axeProblems(page)).toEqual([]);
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    dialog.getByRole('button', { name: 'Export as ZIP' }).click(),
  ]);
  const names = Object.keys(unzipSync(new Uint8Array(readFileSync(await download.path()))));
  expect(names.filter((name) => name.endsWith('.json'))).toHaveLength(IMPORTED);
  // Every third of the invented records is a drill and gives no document.
  expect(names.filter((name) => name.endsWith('.txt'))).toHaveLength((IMPORTED * 2) / 3);
  await dialog.getByText(/Exported: \d+ files/).waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
  await page.getByLabel('Choose all that are shown').uncheck();
});

test('a copy for amendment is a record of its own', async () => {
  await page.getByRole('checkbox', { name: /Invented 4 / }).check();
  await button('Duplicate for amendment').click();
  const dialog = page.getByRole('dialog', { name: 'Duplicate this record for amendment' });
  await dialog.getByLabel('Reason for the amendment').fill('late result');
  await dialog.getByRole('button', { name: 'Make the copy' }).click();
  await page.getByRole('heading', { level: 1, name: 'The whole log' }).waitFor();
  await page
    .locator('.chain.whole')
    .getByText(/^Checked just now: /)
    .waitFor();
  await page.getByRole('link', { name: /^Sign/ }).click();
  await page.getByText('Reason: late result').first().waitFor();
  await page.getByRole('link', { name: 'Records' }).click();
  await shown(IMPORTED + 1, IMPORTED + 1);
});

test('deleting is asked for twice, an export offered first, and can be left', async () => {
  const box = page.getByRole('checkbox', { name: /Invented 7 / });
  await box.check();
  await button('Delete (1)').click();
  const dialog = page.getByRole('dialog', { name: 'Delete 1 record', exact: true });
  await dialog.getByRole('button', { name: 'Export (1)' }).waitFor();
  await dialog.getByRole('button', { name: 'Go on to delete' }).click();
  await dialog.getByText('Delete this record for good?').waitFor();
  expect(await axeProblems(page)).toEqual([]);
  await dialog.getByRole('button', { name: 'Keep them' }).click();
  await shown(IMPORTED + 1, IMPORTED + 1);
  await button('Delete (1)').click();
  await dialog.getByRole('button', { name: 'Go on to delete' }).click();
  await dialog.getByRole('button', { name: 'Delete 1 record for good' }).click();
  await shown(IMPORTED, IMPORTED);
  expect(await page.getByRole('checkbox', { name: /Invented 7 / }).count()).toBe(0);
});

test('a locked record shows nothing, and opens with its passphrase only', async () => {
  await page.goto(`${server.url}#/review/list-00009`);
  await page.getByText('Lock with a passphrase').click();
  await page.getByText('A forgotten passphrase is final: nobody can open the record again.').waitFor();
  await page.getByLabel('Passphrase', { exact: true }).fill('invented words');
  await page.getByLabel('Passphrase once more').fill('invented word');
  await button('Lock').click();
  await page.getByText('The record was not locked. Save a copy of it first').waitFor();
  const [copy] = await Promise.all([
    page.waitForEvent('download'),
    button('Save a copy of the record').click(),
  ]);
  expect(readFileSync(await copy.path(), 'utf8')).toContain('"closing"');
  await button('Lock').click();
  await page.getByText('The two passphrases differ.').waitFor();
  await page.getByLabel('Passphrase once more').fill('invented words');
  await button('Lock').click();
  await page.getByText('Locked. It stays open in this window').waitFor();
  await page.reload();
  await page.getByRole('heading', { level: 1, name: 'This record is locked' }).waitFor();
  await page.getByText('A forgotten passphrase is final.').waitFor();
  expect(await axeProblems(page)).toEqual([]);
  await page.getByLabel('Passphrase').fill('invented worms');
  await button('Unlock').click();
  await page.getByText('This passphrase does not open the record.').waitFor();
  await page.getByLabel('Passphrase').fill('invented words');
  await button('Unlock').click();
  await page.getByRole('heading', { level: 1, name: 'The whole log' }).waitFor();
  await page.goto(`${server.url}#/records`);
  await shown(IMPORTED, IMPORTED);
  expect(await page.getByText('Invented 9', { exact: true }).count()).toBe(0);
  await page.getByRole('link', { name: /^Locked record/ }).waitFor();
});

test('five thousand records: few rows are made, and the end is reached', async () => {
  // Only what the list reads: summaries, written as the store keeps them.
  await page.evaluate(async (count) => {
    const request = indexedDB.open('utterlog');
    const database = await new Promise<IDBDatabase>(
      (done) => (request.onsuccess = () => done(request.result)),
    );
    const name = database.objectStoreNames[0]!;
    const writing = database.transaction(name, 'readwrite');
    for (let at = 0; at < count; at++) {
      const recordId = `many-${at}`;
      const createdAt = new Date(Date.UTC(2020, 0, 1) + at * 3_600_000).toISOString();
      const summary = {
        recordId,
        createdAt,
        mode: 'real',
        reference: `Many ${at}`,
        eventCount: 3,
        entryCount: 2,
        codes: ['head-delivered'],
        changedAt: createdAt,
        finished: true,
        signed: false,
        locked: false,
      };
      writing.objectStore(name).put(summary, ['summary', recordId]);
    }
    await new Promise((done) => (writing.oncomplete = done));
    database.close();
  }, 5000);
  await page.goto(`${server.url}#/settings`);
  const began = Date.now();
  await page.goto(`${server.url}#/records`);
  await shown(5000 + IMPORTED, 5000 + IMPORTED);
  const openedMs = Date.now() - began;
  expect(await rows().count()).toBeLessThan(40);
  // From top to end in steps, each drawn before the next: how long the middle step kept the page from drawing.
  const middleMs = await page.locator('.box').evaluate(async (box) => {
    const frame = () => new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
    const steps: number[] = [];
    for (let step = 1; step <= 40; step++) {
      const from = performance.now();
      box.scrollTop = (box.scrollHeight * step) / 40;
      await frame();
      steps.push(performance.now() - from);
    }
    return steps.sort((a, b) => a - b)[20]!;
  });
  await page.getByRole('link', { name: /^Many 0 / }).waitFor();
  expect(await rows().count()).toBeLessThan(40);
  const searching = Date.now();
  await page.getByLabel('Search').fill('many 4321');
  await shown(1, 5000 + IMPORTED);
  console.log(
    `5,000 records: open ${openedMs} ms, median scroll step ${Math.round(middleMs)} ms, search ${Date.now() - searching} ms`,
  );
  // Wide limits for a busy machine: a list that makes every row takes many times as long.
  expect(middleMs).toBeLessThan(500);
});

test('no error was logged and nothing left this origin', () => {
  expect(app.errors).toEqual([]);
  expect(app.foreign).toEqual([]);
});
