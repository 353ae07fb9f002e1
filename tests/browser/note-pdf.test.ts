import { type Browser, chromium } from 'playwright-core';
import { extractText, getDocumentProxy } from 'unpdf';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { deriveFacts } from '../../src/core/facts/derive.ts';
import { buildNote } from '../../src/core/note/build.ts';
import { noteHtml } from '../../src/core/note/html.ts';
import { PRACTICE_MARK } from '../../src/core/note/model.ts';
import { INVENTED } from '../core/note/invented-records.ts';
import { ensureBrowser } from '../tools.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await chromium.launch({
    executablePath: ensureBrowser(),
    args: ['--no-sandbox', '--disable-gpu'],
  });
});
afterAll(() => browser.close());

const PAGE_ONE = [
  'Key times',
  'Intervals',
  'Manoeuvres in order',
  'Findings',
  'Team',
  'Mother',
  'Baby',
  'What was explained',
  'Signatures',
  'head of the chain',
];

/** Text of each page of the note as the browser prints it. */
async function printed(name: string): Promise<string[]> {
  const { file, view } = INVENTED[name]!();
  const page = await browser.newPage();
  const outside: string[] = [];
  page.on('request', (request) => outside.push(request.url()));
  await page.setContent(noteHtml(buildNote(file, view, deriveFacts(view), loadVocabulary())));
  const pdf = await page.pdf({ preferCSSPageSize: true });
  await page.close();
  expect(outside).toEqual([]);
  const { text } = await extractText(await getDocumentProxy(new Uint8Array(pdf)), { mergePages: false });
  return text.map((one) => one.replace(/\s+/g, ' '));
}

describe('the printed note', () => {
  it('of a short birth is one page', async () => {
    expect(await printed('short-easy-birth')).toHaveLength(1);
  });

  it('of a long birth is two pages, each saying which record it is of; page one holds what is read first', async () => {
    const pages = await printed('all-manoeuvres');
    expect(pages).toHaveLength(2);
    for (const [index, page] of pages.entries()) {
      expect(page).toContain('Reference: Invented 2');
      expect(page).toContain('Record rec-1');
      expect(page).toContain(`Page ${index + 1} of ${pages.length}`);
      expect(page).not.toContain('PRACTICE');
    }
    for (const title of PAGE_ONE) expect(pages[0]).toContain(title);
    for (const title of ['Not recorded', 'Log, as called out at the time']) expect(pages[1]).toContain(title);
  });

  it('holds every line of the log and the head-to-body interval', async () => {
    const { view, file } = INVENTED['all-manoeuvres']!();
    const text = (await printed('all-manoeuvres')).join(' ');
    const { lines } = buildNote(file, view, deriveFacts(view), loadVocabulary());
    for (const { number, time, text: words } of lines) {
      expect(text).toContain(`${number} ${time}`);
      expect(text.replace(/\s/g, '')).toContain(words.replace(/\s/g, ''));
    }
    expect(text).toMatch(/Head to body 5:11/);
    expect(text).not.toMatch(/undefined|NaN/);
  });

  it.each(['drill', 'amended-drill'])('of a %s carries its mark on every page', async (name) => {
    for (const page of await printed(name))
      expect(page.match(new RegExp(PRACTICE_MARK, 'g'))!.length).toBeGreaterThanOrEqual(2);
  });

  it('cuts no side off, however narrow the screen', async () => {
    const page = await browser.newPage();
    // 256: a window of 320 less what stands beside the paper in the app.
    for (const width of [360, 256]) {
      await page.setViewportSize({ width, height: 700 });
      for (const name of Object.keys(INVENTED)) {
        const { file, view } = INVENTED[name]!();
        await page.setContent(noteHtml(buildNote(file, view, deriveFacts(view), loadVocabulary())));
        const over = await page.evaluate(
          () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
        );
        expect(over, `${name} at ${width} px`).toBeLessThanOrEqual(0);
      }
    }
    await page.close();
  });
});
