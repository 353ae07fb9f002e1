import { createHash } from 'node:crypto';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import { exportRecord } from '../../src/core/record/export.ts';
import { fullBirth } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { beginRecord } from './live-steps.ts';
import { storedRecords } from './stored-records.ts';

// A finished record changes by a person's act only: it is looked at on every screen, and what the database holds of it
// is the same afterwards, event by event.
const ID = 'finished-one';
let server: AppServer;
let app: OpenApp;
let page: Page;
let before: string;

const kept = async (on: Page) => {
  const record = (await storedRecords(on)).find(({ recordId }) => recordId === ID)!;
  return { ...record, hash: createHash('sha256').update(JSON.stringify(record)).digest('hex') };
};
const open = async (on: Page, path: string) => {
  await on.goto(`${server.url}#/${path}`);
  await on.getByRole('heading', { level: 1 }).first().waitFor();
};
/** Long enough for the looks at the device (every 2 s) and for what a screen does once it is open. */
const linger = (on: Page) => on.waitForTimeout(2_500);

beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, {
    path: '#/records',
    // A sleep as a page sees it: the wall clock is further on than the running one.
    before: () => {
      const wall = Date.now.bind(Date);
      Date.now = () => wall() + Number(sessionStorage.getItem('asleepMs') ?? 0);
    },
  });
  page = app.page;
  await page.reload();
  await page.locator('input[type=file]').setInputFiles({
    name: 'one.json',
    mimeType: 'application/json',
    buffer: Buffer.from(exportRecord(fullBirth(ID))),
  });
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText('1 record imported').waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
  before = (await kept(page)).hash;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const SCREENS = [
  'records',
  `review/${ID}`,
  `review/${ID}/e46000`,
  `after/${ID}`,
  `note/${ID}`,
  `live/${ID}`,
  `helper/${ID}`,
  'department',
  'practice',
  'settings',
  '',
];

test.each(SCREENS)(
  '#/%s: looked at, reloaded, slept over, printed: the record is as it was',
  async (path) => {
    await open(page, path);
    await linger(page);
    await page.reload();
    await page.getByRole('heading', { level: 1 }).first().waitFor();
    await page.evaluate(() => {
      const slept = Number(sessionStorage.getItem('asleepMs') ?? 0);
      sessionStorage.setItem('asleepMs', String(slept + 20 * 60_000));
    });
    await linger(page);
    await page.pdf({ pageRanges: '1' });
    const now = await kept(page);
    expect(now.events.at(-1)).toMatchObject({ kind: 'finish' });
    expect(now.hash).toBe(before);
  },
);

test('two windows at it, one of them cut off from time by the browser: the record is as it was', async () => {
  const second = await app.context.newPage();
  for (const path of [`review/${ID}`, `note/${ID}`, `after/${ID}`, `live/${ID}`]) {
    await open(page, path);
    await open(second, path);
    const session = await app.context.newCDPSession(second);
    await session.send('Page.enable');
    await session.send('Page.setWebLifecycleState', { state: 'frozen' });
    await linger(page);
    await session.send('Page.setWebLifecycleState', { state: 'active' });
    await linger(second);
    expect((await kept(page)).hash).toBe(before);
  }
  await second.close();
});

/** What the acts since then wrote, by kind. */
const writtenSince = async (count: number) => (await kept(page)).events.slice(count).map(({ kind }) => kind);
async function addReference(on: Page, reference: string): Promise<void> {
  await on.getByLabel('Reference').fill(reference);
  await on.getByRole('button', { name: 'Keep the reference' }).click();
  await on.getByText(reference).first().waitFor();
}

test('the first addition after it was opened again writes one word that the clock went on, the next none', async () => {
  const { length } = (await kept(page)).events;
  await open(page, `review/${ID}`);
  await addReference(page, 'Added first');
  expect(await writtenSince(length)).toEqual(['continued', 'field']);
  await addReference(page, 'Added second');
  const second = await app.context.newPage();
  await open(second, `review/${ID}`);
  await addReference(second, 'Added third');
  await second.close();
  expect(await writtenSince(length)).toEqual(['continued', 'field', 'field', 'field']);
  await page.reload();
  await linger(page);
  expect(await writtenSince(length)).toHaveLength(4);
  await addReference(page, 'Added after a reload');
  expect((await writtenSince(length)).slice(4)).toEqual(['continued', 'field']);
  expect((await kept(page)).spans).toHaveLength(3);
});

test('the sleep of these tests is one that a record that runs does tell', async () => {
  await open(page, '');
  await beginRecord(page, 'real');
  const id = page.url().split('/').at(-1)!;
  await page.evaluate(() => {
    const slept = Number(sessionStorage.getItem('asleepMs') ?? 0);
    sessionStorage.setItem('asleepMs', String(slept + 20 * 60_000));
  });
  await page.waitForTimeout(5_000);
  const running = (await storedRecords(page)).find(({ recordId }) => recordId === id)!;
  expect(running.events.map(({ kind }) => kind)).toContain('clocks-parted');
  expect(app.errors).toEqual([]);
});
