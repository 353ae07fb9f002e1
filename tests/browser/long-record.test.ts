import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import { exportRecord } from '../../src/core/record/export.ts';
import { axeProblems } from './axe.ts';
import { notUnderstood, recordOf, said } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';

const UTTERANCES = 1_000;
let server: AppServer;
let app: OpenApp;
let page: Page;

/** An invented record of hours: every fifth call-out was not understood. */
function longRecord(recordId: string) {
  const codes = ['push', 'stop-pushing', 'mcroberts', 'all-fours'] as const;
  const steps = Array.from({ length: UTTERANCES }, (_, n) => {
    const atMs = 10_000 + n * 2_000;
    return n % 5 === 4
      ? notUnderstood(atMs, 'mind the drip stand', 'mine the drips and')
      : said(atMs, 'words', { code: codes[n % 4]! });
  });
  const endMs = UTTERANCES * 2_000 + 20_000;
  const finish = { atMs: endMs, by: { kind: 'voice' }, bodies: [{ kind: 'finish', atMs: endMs }] } as const;
  return recordOf({
    recordId,
    reference: 'The long one',
    steps: [...steps, { ...finish, bodies: [...finish.bodies] }],
  });
}

beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { path: '#/records' });
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const choose = (recordId: string) =>
  page.locator('input[type=file]').setInputFiles({
    name: `${recordId}.json`,
    mimeType: 'application/json',
    buffer: Buffer.from(exportRecord(longRecord(recordId))),
  });
const rows = () => page.locator('[data-row]');
const focusedRow = () =>
  page.evaluate(() => document.activeElement?.closest('li')?.getAttribute('aria-posinset'));

test('a long import shows how far it is, and cancelling it keeps nothing', async () => {
  // A slow device, so that there is time to touch the button.
  const session = await app.context.newCDPSession(page);
  await session.send('Emulation.setCPUThrottlingRate', { rate: 6 });
  await choose('long-cancelled');
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText(/this one: \d+ %/).waitFor();
  await dialog.getByRole('button', { name: 'Cancel' }).click();
  await dialog.getByText(/Stopped/).waitFor();
  await dialog.getByText(/0 records imported/).waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
  await session.send('Emulation.setCPUThrottlingRate', { rate: 1 });
  await page
    .getByText('There are no records')
    .or(page.getByText(/no record/i))
    .first()
    .waitFor();
  await choose('long');
  await dialog.getByText('1 record imported').waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
});

test('the review makes few rows, says their place among all, and says nothing of the log before it is checked', async () => {
  await page.addInitScript(() => {
    const said: string[] = [];
    (window as unknown as { chainSaid: string[] }).chainSaid = said;
    new MutationObserver(() => {
      const now = document.querySelector('.chain')?.textContent?.trim();
      if (now && said.at(-1) !== now) said.push(now);
    }).observe(document, { subtree: true, childList: true, characterData: true });
  });
  await page.goto(`${server.url}#/settings`);
  await page.reload();
  await page.goto(`${server.url}#/review/long`);
  await rows().first().waitFor();
  await page
    .locator('.chain.whole')
    .getByText(/^Checked just now: /)
    .waitFor();
  const chainSaid = await page.evaluate(() => (window as unknown as { chainSaid: string[] }).chainSaid);
  expect(chainSaid.map((words) => words.split(':')[0])).toEqual([
    'The log is being checked',
    'Checked just now',
  ]);
  expect(await rows().count()).toBeLessThan(400);
  expect(await rows().first().getAttribute('aria-posinset')).toBe('1');
  expect(await rows().first().getAttribute('aria-setsize')).toBe(String(UTTERANCES));
  expect(await axeProblems(page)).toEqual([]);
});

test('keys reach every row; a row far away is opened in one touch', async () => {
  await rows().first().locator('[data-line]').focus();
  await page.keyboard.press('End');
  await page.waitForFunction(() => document.activeElement?.closest('li')?.ariaPosInSet === '1000');
  for (let at = 0; at < 60; at++) {
    await page.keyboard.press('ArrowUp');
    await page.waitForFunction(
      (wanted) => document.activeElement?.closest('li')?.ariaPosInSet === wanted,
      String(UTTERANCES - 1 - at),
    );
  }
  await page.keyboard.press('Home');
  await page.waitForFunction(() => document.activeElement?.closest('li')?.ariaPosInSet === '1');
  expect(await rows().count()).toBeLessThan(400);
  const middle = `e${10_000 + 500 * 2_000}`;
  await page.goto(`${server.url}#/review/long/${middle}`);
  await page.locator(`[data-row="${middle}"] .origin`).waitFor();
  expect(await page.locator(`[data-row="${middle}"]`).boundingBox()).toMatchObject({
    y: expect.any(Number) as number,
  });
  expect(await focusedRow()).toBe('501');
  // The focus stays where it is while the page is scrolled away from it and back.
  await page.evaluate(() => scrollTo(0, document.body.scrollHeight));
  await page.waitForTimeout(300);
  expect(await focusedRow()).toBe('501');
});

test('scrolling shows rows wherever it stops', async () => {
  for (const part of [0.2, 0.55, 0.9]) {
    await page.evaluate((at) => scrollTo(0, document.body.scrollHeight * at), part);
    await page.waitForFunction(() => {
      const list = document.querySelector('[role=list]')!.getBoundingClientRect();
      const seen = document.elementFromPoint(list.left + 200, innerHeight / 2);
      return seen?.closest('[data-row]') !== null;
    });
  }
});

test('paper shows every row', async () => {
  await page.evaluate(() => {
    addEventListener('beforeprint', () => {
      document.title = String(document.querySelectorAll('[data-row]').length);
    });
  });
  await page.pdf({ pageRanges: '1' });
  expect(await page.title()).toBe(String(UTTERANCES));
  await page.waitForFunction(() => document.querySelectorAll('[data-row]').length < 400);
});

test('no error was logged', () => {
  expect(app.errors).toEqual([]);
});
