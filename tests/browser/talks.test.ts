import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { foldRecord } from '../../src/core/log/fold.ts';
import { exportRecord } from '../../src/core/record/export.ts';
import { axeProblems } from './axe.ts';
import { recordOf, said } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { cutOff, sidewaysPx, smallTargets } from './screen-checks.ts';
import { storedRecords } from './stored-records.ts';

/** Pictures for people to look at. */
const PICTURES = join(import.meta.dirname, '../../.artefacts');
const ID = 'talked-of';
const sign = (name: string, role: string, atMs: number) => ({
  atMs,
  by: { kind: 'reviewer' } as const,
  bodies: [{ kind: 'sign', name, role, statement: 'Read.' } as const],
});
let server: AppServer;
let app: OpenApp;
let page: Page;

const button = (name: string) => page.getByRole('button', { name, exact: true });
const stored = async () => (await storedRecords(page)).find(({ recordId }) => recordId === ID)!;

beforeAll(async () => {
  mkdirSync(PICTURES, { recursive: true });
  server = await startServer();
  app = await openApp(server, { path: '#/records' });
  page = app.page;
  const signed = recordOf({
    recordId: ID,
    reference: 'Room 4, afternoon',
    // Three days ago, so that a talk of today is days later.
    wallMs: Date.now() - 3 * 86_400_000,
    steps: [
      said(5_000, 'head out', { code: 'head-delivered' }),
      said(65_000, 'baby out', { code: 'body-delivered' }),
      { atMs: 70_000, by: { kind: 'voice' }, bodies: [{ kind: 'finish', atMs: 70_000 }] },
      sign('Invented One', 'midwife', 900_000),
      sign('Invented Two', 'obstetrician', 960_000),
    ],
  });
  await page.locator('input[type=file]').setInputFiles({
    name: 'one.json',
    mimeType: 'application/json',
    buffer: Buffer.from(exportRecord(signed)),
  });
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText('1 record imported').waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

test('from the records list the form is two touches away, with the time of now', async () => {
  await page.getByRole('link', { name: /Room 4, afternoon/ }).click();
  await page.getByRole('link', { name: 'Talks', exact: true }).click();
  await page.getByRole('heading', { level: 1, name: 'Talks with the family' }).waitFor();
  await page.getByText('No talk is written down yet.').waitFor();
  expect(await page.getByLabel('When it was held').inputValue()).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d$/);
  expect(await page.locator('.button.main').count()).toBe(1);
  expect(await axeProblems(page)).toEqual([]);
});

test('what is missing is said in a sentence, and nothing typed is lost', async () => {
  await page.getByLabel('Who spoke').fill('Invented Three, consultant');
  await button('Add the talk').click();
  await page.getByText('With whom is not given.').first().waitFor();
  expect(await page.getByLabel('Who spoke').inputValue()).toBe('Invented Three, consultant');
  expect(await axeProblems(page)).toEqual([]);
  expect((await stored()).events.at(-1)!.kind).toBe('sign');
});

test('a talk is added without a reason being asked; it is on the screen and in the record', async () => {
  await page.getByLabel('With whom').fill('both parents');
  await page.getByLabel('What was explained').fill('what happened, in order');
  await page.getByLabel('What was asked').fill('whether the arm heals');
  await page.getByLabel('Agreed for follow-up').fill('seen again in six weeks');
  await page.getByLabel('For a next pregnancy').fill('a talk early in it');
  await button('Add the talk').click();
  const talk = page.locator('[data-talk]');
  await talk.getByText('Invented Three, consultant, with both parents').waitFor();
  expect(await page.getByRole('dialog').count()).toBe(0);
  expect(await talk.innerText()).toMatch(
    /what happened, in order[\s\S]*whether the arm heals[\s\S]*seen again in six weeks[\s\S]*a talk early in it/,
  );
  expect(await page.getByLabel('Who spoke').inputValue()).toBe('');
  expect((await stored()).events.at(-1)).toMatchObject({ kind: 'conversation', withWhom: 'both parents' });
});

test('a correction keeps the earlier text, and what was begun below', async () => {
  await page.getByLabel('What was asked').fill('begun');
  await page.getByRole('button', { name: /^Correct the talk of/ }).click();
  expect(await page.locator('.button.main:visible').count()).toBe(1);
  const talk = page.locator('[data-talk]');
  expect(await talk.locator('input:focus').count()).toBe(1);
  await talk.getByRole('button', { name: 'Keep the correction' }).click();
  await talk.getByText('Nothing is changed in it').waitFor();
  await talk.getByLabel('What was asked').fill('whether both arms heal');
  await talk.getByRole('button', { name: 'Keep the correction' }).click();
  await talk.getByText('whether both arms heal').waitFor();
  await talk.getByText('1 earlier text').click();
  await talk.getByText('whether the arm heals').waitFor();
  expect(await page.getByLabel('What was asked').inputValue()).toBe('begun');
  expect(await axeProblems(page)).toEqual([]);
});

test('the screen fits from 320 to 1280 px, and what is pressed is large enough', async () => {
  for (const [width, height] of [
    [1280, 800],
    [390, 844],
    [320, 568],
  ] as const) {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(150);
    await page.screenshot({ path: join(PICTURES, `talks-${width}.png`), fullPage: true });
    expect(await sidewaysPx(page), String(width)).toBe(0);
    expect(await cutOff(page), String(width)).toEqual([]);
    expect(await smallTargets(page), String(width)).toEqual([]);
  }
  await page.setViewportSize({ width: 1280, height: 800 });
});

test('the note has it at the end as written after signing; the signatures stand', async () => {
  await page.getByRole('link', { name: /^Note/ }).click();
  const section = page.frameLocator('iframe').locator('section.talks');
  await section.waitFor();
  const note = await section.innerText();
  expect(note).toContain('Invented Three, consultant, with both parents');
  expect(note).toContain('AFTER SIGNING, NOT COVERED by the signatures');
  expect(note).toMatch(/whether both arms heal[\s\S]*Before correction[\s\S]*whether the arm heals/);
  await page.getByRole('link', { name: /^Sign/ }).click();
  await page.getByText('Signed by two people.').waitFor();
  expect(await page.getByText('signed before the amendment below').count()).toBe(0);
  const view = foldRecord(await stored());
  expect(view.signatures.map(({ name }) => name)).toEqual(['Invented One', 'Invented Two']);
  expect(view.amendments).toEqual([]);
  expect(view.conversations).toMatchObject([{ earlier: 1 }]);
  expect(app.errors).toEqual([]);
});
