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
  it('of a long birth breaks into pages, each saying which record it is of', async () => {
    const pages = await printed('all-manoeuvres');
    expect(pages.length).toBeGreaterThanOrEqual(5);
    expect(pages.length).toBeLessThanOrEqual(10);
    for (const [index, page] of pages.entries()) {
      expect(page).toContain('Reference: Invented 2');
      expect(page).toContain('Record rec-1');
      expect(page).toContain(`Page ${index + 1} of ${pages.length}`);
      expect(page).not.toContain('PRACTICE');
    }
    const audit = pages.findIndex((page) => page.includes('Corrections No entry was changed'));
    expect(pages[audit]).toMatch(/^.{0,60}Corrections/);
  });

  it('holds every line of the log and the head-to-body interval', async () => {
    const { view, file } = INVENTED['all-manoeuvres']!();
    const text = (await printed('all-manoeuvres')).join(' ');
    for (const { number, time, text: words } of buildNote(file, view, deriveFacts(view), loadVocabulary())
      .lines) {
      expect(text).toContain(`${number} ${time}`);
      expect(text.replace(/\s/g, '')).toContain(words.replace(/\s/g, ''));
    }
    expect(text).toMatch(/Head to body 5:11/);
    expect(text).not.toMatch(/undefined|NaN/);
  });

  it('of a drill carries its mark on every page', async () => {
    const pages = await printed('drill');
    expect(pages.length).toBeGreaterThan(1);
    for (const page of pages)
      expect(page.match(new RegExp(PRACTICE_MARK, 'g'))!.length).toBeGreaterThanOrEqual(2);
  });
});
