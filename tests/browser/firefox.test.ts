import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import puppeteer, { type Browser, type Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { verifyChain } from '../../src/core/log/chain.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import type { RecordView } from '../../src/core/log/view.ts';
import { BUNDLED_SCENARIOS } from '../../src/packs/scenarios.ts';
import { importRecord } from '../../src/core/record/import.ts';
import { ensureFirefox } from '../tools.ts';
import { type AppServer, startServer } from './harness.ts';

/**
 * The main path in a second browser, so that nothing hangs on one engine: Firefox through WebDriver BiDi, a
 * practice birth heard from its compressed recording, and its note exported.
 */
const FIREFOX = ensureFirefox();
const SCENARIO = BUNDLED_SCENARIOS.find(({ id }) => id === 'first-manoeuvre')!;

/** The invented microphone of Firefox hums one tone; downloads are kept without asking. */
const preferences = (downloads: string) => ({
  'media.navigator.permission.disabled': true,
  'media.navigator.streams.fake': true,
  'media.autoplay.default': 0,
  'browser.download.folderList': 2,
  'browser.download.dir': downloads,
  'browser.download.useDownloadDir': true,
  'browser.download.always_ask_before_handling_new_types': false,
});

async function until<T>(read: () => Promise<T | null | false>, what: string, timeoutMs: number): Promise<T> {
  for (const begun = Date.now(); Date.now() - begun < timeoutMs;) {
    const found = await read();
    if (found) return found;
    await new Promise((again) => setTimeout(again, 250));
  }
  throw new Error(`Not within ${timeoutMs} ms: ${what}`);
}

describe.skipIf(FIREFOX === null)('in Firefox', () => {
  let server: AppServer;
  let browser: Browser;
  let page: Page;
  let downloads: string;
  const errors: string[] = [];
  const foreign: string[] = [];

  beforeAll(async () => {
    downloads = mkdtempSync(join(tmpdir(), 'utterlog-firefox-'));
    server = await startServer();
    browser = await puppeteer.launch({
      browser: 'firefox',
      protocol: 'webDriverBiDi',
      executablePath: FIREFOX!,
      headless: true,
      extraPrefsFirefox: preferences(downloads),
    });
    page = (await browser.pages())[0] ?? (await browser.newPage());
    await page.setViewport({ width: 1280, height: 800 });
    page.on('pageerror', (error) => errors.push(String(error)));
    page.on('console', (message) => {
      if (message.type() === 'error') errors.push(message.text());
    });
    page.on('request', (request) => {
      if (/^https?:/.test(request.url()) && !request.url().startsWith(server.url))
        foreign.push(request.url());
    });
    await page.goto(server.url);
  });
  afterAll(async () => {
    await browser?.close();
    server?.stop();
    if (downloads) rmSync(downloads, { recursive: true, force: true });
  });

  const click = (selector: string) => page.locator(selector).click();
  const textOf = (selector: string) =>
    page.evaluate((wanted) => document.querySelector<HTMLElement>(wanted)?.innerText ?? '', selector);
  const shows = (words: string, timeoutMs = 30_000) =>
    until(async () => (await textOf('main')).includes(words), words, timeoutMs);

  /** Presses an output of the note and gives the file that comes of it. */
  async function save(name: string, ending: string): Promise<string> {
    await click(`::-p-aria([name="${name}"][role="button"])`);
    const file = await until(
      async () => readdirSync(downloads).find((one) => one.endsWith(ending)) ?? null,
      `a file that ends in ${ending}`,
      15_000,
    );
    return until(async () => readFileSync(join(downloads, file), 'utf8'), file, 5_000);
  }

  test('the model is ready, and the microphone is listened to or the app says that it is not', async () => {
    await shows('Ready. Speech is recognised on this device.', 120_000);
    await click('::-p-text(Check the microphone)');
    // Firefox runs no sound at all on a machine without a sound card, such as one that tests.
    await until(
      async () => /In use:|The browser has paused the sound/.test(await textOf('[data-state]')),
      'the state of the microphone',
      15_000,
    );
  });

  test('a practice birth is heard from its compressed recording, call-out by call-out', async () => {
    await page.goto(`${server.url}#/practice`);
    await shows(SCENARIO.title);
    await page.evaluate((title) => {
      const item = [...document.querySelectorAll('li')].find((one) => one.textContent!.includes(title))!;
      item.querySelector('button')!.click();
    }, SCENARIO.title as string);
    await until(async () => page.url().includes('#/live/'), 'the live screen', 30_000);
    await shows('The recording is over.', SCENARIO.lengthMs + 60_000);
  }, 240_000);

  let view: RecordView;

  test('the note and the record are exported', async () => {
    await page.evaluate(() => (location.hash = location.hash.replace('live', 'hand-out')));
    await click('summary::-p-text(Files for other programs)');
    await click('::-p-text(Make the documents all the same)');
    const note = await save('Text', '.txt');
    expect(note).toContain('PRACTICE');
    expect(note).toMatch(/Head to body\s+\d:\d\d/);
    const outcome = importRecord(await save('JSON (the record)', '.json'));
    if (outcome.kind !== 'ok') throw new Error(JSON.stringify(outcome));
    expect(verifyChain(outcome.file.events)).toMatchObject({ kind: 'intact' });
    view = foldRecord(outcome.file);
  });

  test('the entries are what was said, no more and no less', () => {
    const said = SCENARIO.lines.flatMap(({ says = [] }) => says);
    const expected = SCENARIO.truth.filter(({ id }) => said.includes(id)).map(({ entry }) => entry.code);
    expect(view.entries.map(({ entry }) => entry.code).sort()).toEqual(expected.sort());
  });

  test('every compressed recording is decoded whole', async () => {
    for (const { recording, lengthMs } of BUNDLED_SCENARIOS) {
      if (!recording?.endsWith('.ogg')) continue;
      const seconds = await page.evaluate(async (address) => {
        const bytes = await (await fetch(address)).arrayBuffer();
        return (await new OfflineAudioContext(1, 1, 16_000).decodeAudioData(bytes)).duration;
      }, `${server.url}practice/${recording}`);
      expect(Math.abs(seconds * 1000 - lengthMs), recording).toBeLessThan(1000);
    }
  });

  test('nothing went to another origin and nothing broke', () => {
    expect(foreign).toEqual([]);
    expect(errors).toEqual([]);
  });
});
