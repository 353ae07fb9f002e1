import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { axeProblems } from './axe.ts';
import { type AppServer, openApp, type OpenApp, startServer } from './harness.ts';
import { button } from './live-steps.ts';
import { beyondTheEdge, SIZES, sidewaysPx, smallTargets } from './screen-checks.ts';

let server: AppServer;
let app: OpenApp;
let page: Page;
beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { path: '#/settings' });
  page = app.page;
  await page.getByRole('heading', { level: 1, name: 'Settings' }).waitFor();
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

async function checkHere(): Promise<void> {
  expect(await axeProblems(page)).toEqual([]);
  for (const { width, height } of SIZES) {
    await page.setViewportSize({ width, height });
    expect(await sidewaysPx(page), `${width} px wide`).toBeLessThanOrEqual(0);
    expect(await smallTargets(page), `${width} px wide`).toEqual([]);
  }
}

describe('settings', () => {
  test('are accessible in every theme, and a theme chosen holds after a reload', async () => {
    for (const [theme, name] of [
      ['contrast', 'High contrast'],
      ['dark', 'Dark'],
    ] as const) {
      await page.getByRole('radio', { name }).check();
      await expect.poll(() => page.locator('html').getAttribute('data-theme')).toBe(theme);
      expect(await axeProblems(page)).toEqual([]);
    }
    await page.reload();
    await expect.poll(() => page.locator('html').getAttribute('data-theme')).toBe('dark');
    await page.getByRole('radio', { name: 'Light' }).check();
    await checkHere();
  });

  test('letters at 200 % still fit the narrowest screen', async () => {
    await page.getByRole('radio', { name: '200 %' }).check();
    await page.setViewportSize({ width: 360, height: 640 });
    expect(await beyondTheEdge(page)).toEqual([]);
    await expect.poll(() => sidewaysPx(page)).toBeLessThanOrEqual(0);
    await page.getByRole('radio', { name: '100 %' }).check();
    await page.setViewportSize({ width: 1280, height: 800 });
  });

  test('a phrase that was typed shows what it would log', async () => {
    await page.getByLabel('Try a phrase').fill('suprapubic pressure from the left');
    await button(page, 'Try').click();
    await page.locator('.told[data-outcome="accept"]').waitFor();
    expect(await page.locator('.told').innerText()).toContain("from the mother's left");
  });

  test('a wording of the unit is added, understood, exported, removed and loaded again', async () => {
    await page.getByLabel('For', { exact: true }).selectOption('mcroberts');
    await page.getByLabel('Said as').fill('legs to the ceiling');
    await button(page, 'Add').first().click();
    await page.getByText('Added: legs to the ceiling.').waitFor();
    await page.getByLabel('Try a phrase').fill('legs to the ceiling');
    await button(page, 'Try').click();
    await expect.poll(() => page.locator('.told').innerText()).toContain('McRoberts');
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      button(page, 'Save the list').click(),
    ]);
    const list = readFileSync(await download.path(), 'utf8');
    expect(JSON.parse(list)).toMatchObject({ phrases: { mcroberts: ['legs to the ceiling'] } });
    await button(page, 'Remove legs to the ceiling').click();
    await page.getByText('Nothing yet.').waitFor();
    const file = { name: 'words.json', mimeType: 'application/json', buffer: Buffer.from(list) };
    await page.locator('input[type=file]').setInputFiles(file);
    await page.getByText('The list was loaded', { exact: false }).waitFor();
    const other = { ...file, buffer: Buffer.from('{"format":"something"}') };
    await page.locator('input[type=file]').setInputFiles(other);
    await page.getByText("The file is no list of a unit's words, so nothing was changed.").waitFor();
  });

  test('marks on the running clock are off until a person shows them', async () => {
    expect(await page.getByRole('checkbox', { name: 'Show the marks' }).isChecked()).toBe(false);
    await page.getByLabel('Time since the head').fill('soon');
    await page.getByLabel('Words on the screen').fill('Unit mark');
    await button(page, 'Add').last().click();
    await page.getByText('Write a time such as 4:00', { exact: false }).waitFor();
    await page.getByLabel('Time since the head').fill('4:00');
    await button(page, 'Add').last().click();
    await page.getByText('4:00 – Unit mark').waitFor();
  });

  test('the room’s clock: a wrong time is refused, a right one told', async () => {
    await page.getByLabel('It shows now').fill('noon');
    await button(page, 'Set now').click();
    await page.getByText('Write the time as 14:02', { exact: false }).waitFor();
    await page.getByLabel('Which clock').fill('Wall clock');
    await page.getByLabel('It shows now').fill('12:00:00');
    await button(page, 'Set now').click();
    await page.getByText(/Wall clock is .* (ahead of|behind) this device\./).waitFor();
  });

  test('erasing asks twice', async () => {
    await button(page, 'Erase everything').first().click();
    const dialog = page.getByRole('dialog', { name: 'Erase everything' });
    expect(await dialog.getByRole('button', { name: 'Erase everything' }).isDisabled()).toBe(true);
    expect(await axeProblems(page)).toEqual([]);
    await page.keyboard.press('Escape');
    await expect.poll(() => dialog.isVisible()).toBe(false);
  });
});

test('the voice check says what stands in its way, and keeps no sound', async () => {
  await page.goto(`${server.url}#/voice-check`);
  await page.getByRole('heading', { level: 1, name: 'Voice check' }).waitFor();
  await page.getByText('No sound is kept', { exact: false }).waitFor();
  await checkHere();
  await button(page, 'Begin the voice check').click();
  await page.getByRole('alert').first().waitFor();
  await button(page, 'Stop here').click();
  expect(await page.locator('[data-verdict]').getAttribute('data-verdict')).toBe('touch');
  await checkHere();
});

test('an address that leads nowhere says so', async () => {
  await page.goto(`${server.url}#/nowhere`);
  await page.getByRole('heading', { name: 'No such screen' }).waitFor();
  expect(await axeProblems(page)).toEqual([]);
});

test('nothing went to another origin and nothing broke', () => {
  expect(app.foreign).toEqual([]);
  expect(app.errors).toEqual([]);
});
