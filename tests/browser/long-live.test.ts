import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import { exportRecord } from '../../src/core/record/export.ts';
import { axeProblems } from './axe.ts';
import { recordOf, said } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { toPad, touch } from './live-steps.ts';

// A live record of 3,000 entries makes the rows near the view and no others: on the helper's pad, and in the review.
const ENTRIES = 3_000;
const ID = 'long-live';
/** Measured: 337 on the pad, 758 in the review. */
const MOST_NODES = 1_500;
let server: AppServer;
let app: OpenApp;
let page: Page;

beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { path: '#/records' });
  page = app.page;
  const codes = ['push', 'stop-pushing', 'mcroberts', 'all-fours'] as const;
  const steps = Array.from({ length: ENTRIES }, (_, n) =>
    said(10_000 + n * 2_000, 'words', { code: codes[n % 4]! }),
  );
  await page.locator('input[type=file]').setInputFiles({
    name: 'long.json',
    mimeType: 'application/json',
    buffer: Buffer.from(
      exportRecord(
        recordOf({ recordId: ID, reference: 'Hours of it', wallMs: Date.now() - 7_000_000, steps }),
      ),
    ),
  });
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText('1 record imported').waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const nodes = () => page.evaluate(() => document.querySelectorAll('*').length);
const rows = () => page.locator('[data-entry]');
const placeOf = (at: 'first' | 'last') =>
  rows()
    [at]()
    .evaluate((row) => Number(row.ariaPosInSet));
/** The frame of the pad's list, scrolled to a part of its height. */
const scrollTo = (part: number) =>
  page.locator('.log').evaluate((log, at) => log.scrollTo(0, log.scrollHeight * at), part);

test('the pad of a record of 3,000 entries makes few rows and says their place among all', async () => {
  await page.goto(`${server.url}#/live/${ID}`);
  await page.getByRole('heading', { level: 1, name: 'Live record' }).waitFor();
  if ((await rows().count()) === 0) await toPad(page);
  await rows().first().waitFor();
  await page.waitForTimeout(500);
  expect(await nodes()).toBeLessThan(MOST_NODES);
  expect(await rows().count()).toBeLessThan(150);
  expect(await rows().first().getAttribute('aria-setsize')).toBe(String(ENTRIES));
  expect(await placeOf('first')).toBe(1);
  expect(await axeProblems(page)).toEqual([]);
});

test('scrolling shows rows wherever it stops, in order; an open row stays open', async () => {
  await rows().nth(2).getByRole('button').first().click();
  const opened = await rows().nth(2).getAttribute('data-entry');
  for (const part of [0.3, 0.7, 1]) {
    await scrollTo(part);
    await page.waitForFunction(() => {
      const frame = document.querySelector('.log')!.getBoundingClientRect();
      const seen = document.elementFromPoint(frame.left + 60, frame.top + frame.height / 3);
      return seen?.closest('[data-entry]') !== null;
    });
    const places = await rows().evaluateAll((all) => all.map((row) => Number(row.ariaPosInSet)));
    expect(places).toEqual([...places].sort((a, b) => a - b));
    expect(await rows().count()).toBeLessThan(200);
  }
  expect(await placeOf('last')).toBe(ENTRIES);
  expect(await page.locator(`[data-entry="${opened}"] .acts`).count()).toBe(1);
  await scrollTo(0);
});

test('what is logged now stands on top, in its place', async () => {
  await touch(page, 'Birth', 'head-delivered');
  await page.locator('[data-entry]', { hasText: 'Head delivered' }).first().waitFor();
  await page.waitForFunction(
    (all) => document.querySelector('[data-entry]')?.ariaSetSize === String(all),
    ENTRIES + 1,
  );
  expect(await placeOf('first')).toBe(1);
});

test('paper shows every row, and the screen few again afterwards', async () => {
  await page.evaluate(() => {
    addEventListener('beforeprint', () => {
      document.title = String(document.querySelectorAll('[data-entry]').length);
    });
  });
  await page.pdf({ pageRanges: '1' });
  expect(await page.title()).toBe(String(ENTRIES + 1));
  await page.waitForFunction(() => document.querySelectorAll('[data-entry]').length < 200);
});

test('the review of it makes few nodes too', async () => {
  await page.goto(`${server.url}#/review/${ID}`);
  await page.locator('[data-row]').first().waitFor();
  await page.waitForTimeout(1_000);
  expect(await nodes()).toBeLessThan(MOST_NODES);
  expect(app.errors).toEqual([]);
});
