import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { strFromU8, unzipSync } from 'fflate';
import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import { verifyRecord } from '../../src/core/log/chain.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import type { RecordFile } from '../../src/core/log/events.ts';
import { exportRecord } from '../../src/core/record/export.ts';
import { importRecord } from '../../src/core/record/import.ts';
import { axeProblems } from './axe.ts';
import { FORMULA, fullBirth, HOSTILE } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { cutOff, sidewaysPx, ZOOMED } from './screen-checks.ts';

/** Pictures of every screen and state, for people to look at. */
const PICTURES = join(import.meta.dirname, '../../.artefacts');

let server: AppServer;
let app: OpenApp;
let page: Page;

beforeAll(async () => {
  mkdirSync(PICTURES, { recursive: true });
  server = await startServer();
  app = await openApp(server, { path: '#/records' });
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const json = (name: string, text: string) => ({
  name,
  mimeType: 'application/json',
  buffer: Buffer.from(text),
});
const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });
const news = () => page.locator('.news');

async function importAll(files: { name: string; mimeType: string; buffer: Buffer }[]): Promise<string> {
  await page.locator('input[type=file]').setInputFiles(files);
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText(/records? imported/).waitFor();
  const said = await dialog.innerText();
  await dialog.getByRole('button', { name: 'Close' }).click();
  return said;
}

async function goTo(path: string, heading: string): Promise<void> {
  await page.goto(`${server.url}#/${path}`);
  await page.getByRole('heading', { level: 1, name: heading }).waitFor();
}

async function save(name: string): Promise<{ name: string; text: string; bytes: Uint8Array }> {
  const [download] = await Promise.all([page.waitForEvent('download'), button(name).click()]);
  const bytes = readFileSync(await download.path());
  return { name: download.suggestedFilename(), text: bytes.toString('utf8'), bytes };
}

describe('from an imported record to a signed, amended and exported note', () => {
  test('import takes what is whole, and refuses the rest with a sentence and a place', async () => {
    const whole = exportRecord(fullBirth('desk-full'));
    const altered = exportRecord(fullBirth('desk-altered')).replace('"legs back"', '"legs down"');
    const said = await importAll([
      json('whole.json', whole),
      json('altered.json', altered),
      json('cut.json', whole.slice(0, 900)),
      json('drill.json', exportRecord(fullBirth('desk-drill', { mode: 'practice', reference: HOSTILE }))),
    ]);
    expect(said).toContain('2 records imported');
    expect(said).toMatch(/altered\.json.*changed after it was written.*\/events\/\d+/s);
    expect(said).toMatch(/cut\.json.*not complete JSON.*line \d+/s);
    expect(await importAll([json('whole.json', whole)])).toContain('same id is on this device');
    expect(await page.getByRole('link', { name: /Room 4, afternoon/ }).count()).toBe(1);
  });

  test('each time is one touch from where it comes from', async () => {
    await goTo('review/desk-full', 'The whole log');
    await button(/^13:41:03 0:43 McRoberts/).click();
    const panel = page.locator('[data-row="e63000"] .origin');
    await panel.waitFor();
    const words = await panel.innerText();
    for (const part of ['legs back', 'legs pack', 'differs', '94 %', '1:03.0 to 1:04.4', 'logged: McRoberts'])
      expect(words).toContain(part);
  });

  test('an interval shows its formula, its inputs and leads to the entries', async () => {
    await page.getByText('Head to body', { exact: true }).first().click();
    const open = page.locator('.aside details[open]').first();
    expect(await open.innerText()).toMatch(/Formula: baby delivered − head delivered/);
    await open.getByRole('button', { name: /13:42:59 Baby delivered/ }).click();
    await page.locator('[data-row="e179000"] .origin').waitFor();
    expect(await page.evaluate(() => document.activeElement?.closest('li')?.dataset.row)).toBe('e179000');
  });

  test('arrow keys go from line to line', async () => {
    await page.keyboard.press('ArrowDown');
    expect(await page.evaluate(() => document.activeElement?.closest('li')?.dataset.row)).toBe('e185000');
    await page.keyboard.press('Enter');
    await page.locator('[data-row="e185000"] .origin').waitFor();
  });

  test('words that were not understood become an entry in one touch, and back', async () => {
    const line = page.locator('[data-row="u118000"]');
    await line.getByRole('button', { name: 'Log as: Episiotomy – done' }).click();
    await news().getByText('Logged: Episiotomy – done.').waitFor();
    expect(await page.locator('.logged', { hasText: 'Episiotomy – done' }).innerText()).toContain('13:41:58');
    await button('Undo').click();
    await page.locator('.logged.struck', { hasText: 'Episiotomy – done' }).waitFor();
  });

  test('a question is answered with what was missing', async () => {
    await page.getByRole('link', { name: /^Questions/ }).click();
    const card = page.locator('[data-matter="q258000"]');
    await card.getByRole('button', { name: /arterial/ }).click();
    await news().getByText('Logged: Cord gas: arterial, pH 7.18').waitFor();
    expect(await card.count()).toBe(0);
    await page.getByRole('link', { name: 'Log', exact: true }).click();
    await page.locator('.logged', { hasText: 'Cord gas: arterial, pH 7.18' }).waitFor();
  });

  test('a correction and a shift ask why and keep what stood before', async () => {
    await button(/^13:43:59/).click();
    const line = page.locator('[data-row="e239000"]');
    await line.getByRole('button', { name: 'Move in time' }).click();
    await line.getByLabel('Time (HH:MM:SS)').fill('13:44:01');
    await line.getByRole('button', { name: 'Keep the new time' }).click();
    expect(await line.getByText('The reason is not given').count()).toBe(1);
    await line.getByLabel('Reason').fill('resuscitation clock');
    await line.getByRole('button', { name: 'Keep the new time' }).click();
    await line.getByText('moved by reviewer from 13:43:59').waitFor();
    await line.getByRole('button', { name: 'Correct', exact: true }).click();
    await line.getByRole('radio', { name: '6', exact: true }).check();
    await line.getByLabel('Reason').fill('written sheet');
    await line.getByRole('button', { name: 'Keep the correction' }).click();
    await line.getByText('Apgar: 6, at 1 min').first().waitFor();
    expect(await line.innerText()).toMatch(/logged: Apgar: 5[\s\S]*resuscitation clock[\s\S]*written sheet/);
  });

  test('after the birth: a figure out of range is refused in a sentence, one in pounds is converted', async () => {
    await page.getByRole('link', { name: /^Missing/ }).click();
    await page.locator('summary', { hasText: 'Can be found later' }).click();
    await button('Record: Birth weight').click();
    await page.getByRole('radio', { name: 'grams', exact: true }).check();
    await page.getByLabel('Weight', { exact: true }).fill('42');
    await button('Save').click();
    await page.getByText('42 g is outside 300 to 7000, so it was not taken').waitFor();
    await page.getByRole('radio', { name: 'pounds and ounces' }).check();
    await page.getByRole('textbox', { name: 'Pounds' }).fill('9');
    await page.getByRole('textbox', { name: 'Ounces' }).fill('4');
    // 9 lb 4 oz = 9 × 453.59237 g + 4 × 28.349523125 g (international definition).
    await page.getByText('That is 4196 g.').waitFor();
    await button('Save').click();
    await page.locator('#item-birth-weight', { hasText: '4196 g' }).waitFor();
  });

  test('a gas told by voice is completed by touch, unit and sign asked for', async () => {
    await page.locator('summary', { hasText: 'Recorded already' }).click();
    await button('Change: Cord blood, artery').click();
    const item = page.locator('#item-cord-arterial');
    expect(await item.getByLabel('pH').inputValue()).toBe('7.18');
    await item.getByLabel('pCO2', { exact: true }).fill('8.4');
    await item.getByLabel('Base excess or deficit (mmol/L)').fill('6.5');
    await button('Save').click();
    await item.getByText('the unit is not chosen').waitFor();
    await item.getByText('plus or minus is not clear').waitFor();
    await item.getByRole('radio', { name: 'kPa' }).check();
    await item.getByRole('radio', { name: 'base deficit' }).check();
    await button('Save').click();
    await item.getByText('pH 7.18, base excess −6.5 mmol/L, pCO2 8.4 kPa').waitFor();
  });

  test('two people sign; the same name twice is refused', async () => {
    await page.getByRole('link', { name: /^Sign/ }).click();
    const sign = async (name: string, role: string) => {
      await page.getByLabel('Name', { exact: true }).fill(name);
      await page.getByRole('textbox', { name: 'Role', exact: true }).fill(role);
      await button('Sign').click();
    };
    await sign('Invented One', 'midwife');
    await page.getByText('The second person:').waitFor();
    await sign('invented one', 'obstetrician');
    await page.getByText('This name has signed already').waitFor();
    await sign('Invented Two', 'obstetrician');
    await page.getByText('Signed by two people.').waitFor();
  });

  test('a change after signing is an amendment with its reason', async () => {
    await page.getByRole('link', { name: 'Log', exact: true }).click();
    await page.getByLabel('Reference').fill('Room 4, evening');
    await button('Keep the reference').click();
    const dialog = page.getByRole('dialog', { name: 'This record is signed' });
    await dialog.getByRole('button', { name: 'Amend' }).click();
    await dialog.getByText('The reason is not given').waitFor();
    await dialog.getByLabel('Reason for the amendment').fill('wrong room written');
    await dialog.getByRole('button', { name: 'Amend' }).click();
    await page
      .locator('.chain.whole')
      .getByText(/^Checked just now: each of the \d+ events follows/)
      .waitFor();
    await page.getByRole('link', { name: /^Sign/ }).click();
    await page.getByText('Reason: wrong room written').waitFor();
    await page.getByText('signed before the amendment below').first().waitFor();
  });

  test('the note is shown as it prints, and each output holds what was recorded', async () => {
    await page.getByRole('link', { name: /^Note/ }).click();
    const paper = page.frameLocator('iframe');
    await paper.getByText('4196 g').first().waitFor();
    // The note's own style sheet is in force, whatever the page's policy says of inline styles.
    expect(
      await paper
        .locator('h2')
        .first()
        .evaluate((h2) => getComputedStyle(h2).borderBottomStyle),
    ).toBe('solid');
    await page.getByRole('link', { name: /^Hand out/ }).click();
    await page.getByRole('heading', { level: 1, name: 'Hand out' }).waitFor();
    await page.locator('summary', { hasText: 'Files for other programs' }).click();
    await page.locator('iframe').evaluate((frame: HTMLIFrameElement) => {
      frame.contentWindow!.print = () => void (frame.dataset.printed = frame.contentDocument!.title);
    });
    await button('Print or save as PDF').click();
    expect(await page.locator('iframe').getAttribute('data-printed')).toBe('Record of events at a birth');
    await app.context.grantPermissions(['clipboard-read', 'clipboard-write']);
    await button('Copy as text').click();
    await page.getByText('The note is on the clipboard.').waitFor();
    expect(await page.evaluate(() => navigator.clipboard.readText())).toContain('4196 g');
    const text = await save('Text');
    expect(text.name).toMatch(/^utterlog_2026-10-14_1340_[\w-]+\.txt$/);
    for (const part of ['4196 g', 'wrong room written', 'Invented Two', HOSTILE])
      expect(text.text).toContain(part);
    const csv = await save('CSV (tables in a zip)');
    expect(csv.name).toMatch(/^utterlog_2026-10-14_1340_[\w-]+\.csv\.zip$/);
    const tables = Object.entries(unzipSync(csv.bytes)).map(([name, text]) => ({
      name,
      rows: Papa.parse<string[]>(strFromU8(text).replace('\uFEFF', '')).data,
    }));
    expect(tables.map(({ name }) => name)).toEqual([
      'entries.csv',
      'intervals.csv',
      'signatures.csv',
      'columns.csv',
    ]);
    const [head = [], ...rows] = tables[0]!.rows;
    expect(rows.map((row) => row[head.indexOf('birth_weight_grams')]).filter(Boolean)).toEqual(['4196']);
    const cells = tables.flatMap((table) => table.rows.flat());
    expect(cells).toContain('Invented Two');
    expect(cells.filter((cell) => cell.includes(FORMULA)).length).toBeGreaterThan(0);
    expect(cells.filter((cell) => /^[=+\-@\t\r]/.test(cell) && !/^-\d+(\.\d+)?$/.test(cell))).toEqual([]);
    const html = await save('HTML');
    expect(html.text).not.toContain('<img');
    const fhir = JSON.parse((await save('FHIR document')).text) as { resourceType: string };
    expect(fhir.resourceType).toBe('Bundle');
    const record = importRecord((await save('JSON (the record)')).text);
    expect(record.kind).toBe('ok');
    const { file } = record as { file: RecordFile };
    expect(verifyRecord(file)).toEqual({ kind: 'intact' });
    const view = foldRecord(file);
    expect(view.signatures.map(({ name }) => name)).toEqual(['Invented One', 'Invented Two']);
    expect(view.amendments.map(({ reason }) => reason)).toEqual(['wrong room written']);
    const original = fullBirth('desk-full').events;
    expect(file.events.slice(0, original.length)).toEqual(original);
  });
});

describe('a practice record', () => {
  test('gives no document unless it is asked for, and then it carries its mark', async () => {
    await goTo('hand-out/desk-drill', 'Hand out');
    await page.locator('summary', { hasText: 'Files for other programs' }).click();
    for (const name of [
      'Print or save as PDF',
      'Copy as text',
      'Text',
      'HTML',
      'CSV (tables in a zip)',
      'FHIR document',
    ])
      expect(await button(name).isDisabled()).toBe(true);
    expect((await save('JSON (the record)')).name).toMatch(/^PRACTICE_/);
    await page.getByLabel('Make the documents all the same').check();
    for (const name of ['Text', 'HTML', 'CSV (tables in a zip)', 'FHIR document']) {
      const saved = await save(name);
      expect(saved.name).toMatch(/^PRACTICE_/);
      const texts = saved.name.endsWith('.zip')
        ? Object.values(unzipSync(saved.bytes)).map((text) => strFromU8(text))
        : [saved.text];
      for (const text of texts) expect(text).toContain('PRACTICE');
    }
  });
});

describe('by keyboard alone', () => {
  test('a line is opened, struck out with its reason, and the undo is reached', async () => {
    await goTo('review/desk-drill', 'The whole log');
    await button(/^13:43:05 .*Cord clamped/).focus();
    await page.keyboard.press('Enter');
    for (const name of ['Correct', 'Move in time', 'Strike out']) {
      await page.keyboard.press('Tab');
      expect(await page.evaluate(() => document.activeElement?.textContent)).toBe(name);
    }
    await page.keyboard.press('Enter');
    const line = page.locator('[data-row="e185000"]');
    await line.getByLabel('Reason').waitFor();
    while (!(await line.getByLabel('Reason').evaluate((field) => field === document.activeElement)))
      await page.keyboard.press('Tab');
    await page.keyboard.type('another cord');
    await page.keyboard.press('Enter');
    await line.getByText('Reason: another cord').waitFor();
    await page.locator('.struck[data-row="e185000"]').waitFor();
    await button('Undo').focus();
    await page.keyboard.press('Enter');
    await page.locator('.logged:not(.struck)[data-row="e185000"]').waitFor();
  });
});

describe('hostile words', () => {
  test('are shown as text on every screen, and run nowhere', async () => {
    for (const [path, heading] of [
      ['after/desk-drill', 'What is missing'],
      ['review/desk-drill', 'The whole log'],
      ['note/desk-drill', 'Read the note'],
      ['records', 'Records'],
    ] as const) {
      await goTo(path, heading);
      await page.getByText(HOSTILE).first().waitFor();
      expect(await page.locator('img[src="x"]').count()).toBe(0);
    }
    await goTo('note/desk-drill', 'Read the note');
    const paper = page.frameLocator('iframe');
    await paper.getByText(HOSTILE).first().waitFor();
    expect(await paper.locator('img').count()).toBe(0);
    expect(await page.evaluate(() => 'hit' in window)).toBe(false);
  });
});

describe('every screen and state', () => {
  const states: [string, string, string, (() => Promise<void>)?][] = [
    ['after', 'after/desk-full', 'What is missing'],
    ['after-form', 'after/desk-full', 'What is missing', () => button('Record: Apgar at 5 minutes').click()],
    ['review', 'review/desk-full', 'The whole log'],
    ['review-origin', 'review/desk-full/e46000', 'The whole log'],
    ['review-question', 'review/desk-drill/u258000', 'The whole log'],
    ['note', 'note/desk-full', 'Read the note'],
    ['note-practice', 'note/desk-drill', 'Read the note'],
    ['questions', 'questions/desk-drill', 'Questions'],
    ['sign', 'sign/desk-full', 'Sign'],
    ['hand-out', 'hand-out/desk-full', 'Hand out'],
    ['parents', 'parents/desk-full', 'For the parents'],
    ['records', 'records', 'Records'],
    ['missing', 'review/nothing', 'No such record'],
  ];
  test.each(states)('%s is clean by axe, and right at four widths', async (name, path, heading, act) => {
    await page.setViewportSize({ width: 1280, height: 800 });
    await page.goto(`${server.url}#/settings`);
    await goTo(path, heading);
    await act?.();
    await page.waitForTimeout(200);
    expect(await axeProblems(page)).toEqual([]);
    for (const width of [360, 768, 1280, 1920]) {
      await page.setViewportSize({ width, height: 800 });
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      expect(wide, `${name} at ${width} px`).toBeLessThanOrEqual(0);
      expect(await smallTargets(), `${name} at ${width} px`).toEqual([]);
      await page.screenshot({ path: join(PICTURES, `desk-${name}-${width}.png`) });
    }
  });

  test.each([...states, ['settings', 'settings', 'Settings'] as const])(
    '%s zoomed to twice the size and at 320 px: nothing cut off, no scrolling sideways, clean by axe',
    async (name, path, heading, act?: () => Promise<void>) => {
      await page.setViewportSize({ width: 1280, height: 800 });
      await page.goto(server.url);
      await goTo(path, heading);
      await act?.();
      for (const size of ZOOMED) {
        await page.setViewportSize(size);
        await page.waitForTimeout(100);
        expect(await sidewaysPx(page), `${size.width} px`).toBeLessThanOrEqual(0);
        expect(await cutOff(page), `${size.width} px`).toEqual([]);
        for (const paper of page.frames().slice(1))
          expect(await sidewaysPx(paper), `the note at ${size.width} px`).toBeLessThanOrEqual(0);
        expect(await axeProblems(page), `${size.width} px`).toEqual([]);
        await page.screenshot({ path: join(PICTURES, `desk-${name}-${size.width}.png`) });
      }
      await page.setViewportSize({ width: 1280, height: 800 });
    },
  );

  test.each(['dark', 'contrast'])('%s theme is clean by axe', async (theme) => {
    await page.setViewportSize({ width: 1280, height: 800 });
    for (const [path, heading] of [
      ['after/desk-full', 'What is missing'],
      ['review/desk-full/e46000', 'The whole log'],
      ['records', 'Records'],
    ] as const) {
      await goTo(path, heading);
      await page.evaluate((chosen) => (document.documentElement.dataset.theme = chosen), theme);
      expect(await axeProblems(page)).toEqual([]);
    }
  });

  test('nothing went to another origin, and no error was logged', () => {
    expect(app.foreign).toEqual([]);
    expect(app.errors).toEqual([]);
  });
});

/** Buttons, fields and summaries that are less than 48 px high or wide. */
function smallTargets(): Promise<string[]> {
  return page.evaluate(() => {
    const found: string[] = [];
    for (const one of document.querySelectorAll<HTMLElement>(
      'main :is(button, .button, select, summary, input, textarea)',
    )) {
      const label = one.closest('label');
      const box = (
        one.matches('[type=checkbox], [type=radio]') && label ? label : one
      ).getBoundingClientRect();
      const hidden = box.width === 0 || one.matches('.out-of-sight') || one.closest('.out-of-sight');
      if (!hidden && (box.height < 47.5 || box.width < 47.5))
        found.push(`${one.tagName} ${one.textContent?.trim().slice(0, 30)} ${box.width}×${box.height}`);
    }
    return found;
  });
}
