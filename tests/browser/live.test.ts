import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { shortLabel } from '../../src/ui/live/short-label.ts';
import { axeProblems } from './axe.ts';
import { type AppServer, openApp, type OpenApp, startServer } from './harness.ts';
import { button, toPad, toRoom, touch, typeCallOut } from './live-steps.ts';
import { letters, SIZES, sidewaysPx, smallTargets } from './screen-checks.ts';

/** Capitals of 23 mm are read at 4 m; a 13.3-inch panel of 1280 x 800 CSS px has hypot(1280, 800) px over 338 mm. */
const CAPITAL_PX = 23 * (Math.hypot(1280, 800) / (13.3 * 25.4));
const THEMES = ['light', 'dark', 'contrast'] as const;

let server: AppServer;
let app: OpenApp;
let page: Page;
beforeAll(async () => {
  server = await startServer();
  app = await openApp(server);
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const strip = () => page.locator('.strip');
const entries = () => page.locator('[data-entry]');
/** Seconds of the day of a "14:02:10". */
const secondsOf = (time: string) => time.split(':').reduce((sum, part) => sum * 60 + Number(part), 0);
const size = (width: number, height: number) => page.setViewportSize({ width, height });

/** The screen as it stands: accessible in every theme, large enough to touch, nothing beside the page. */
async function checkHere(): Promise<void> {
  for (const theme of THEMES) {
    await page.evaluate((name) => (document.documentElement.dataset.theme = name), theme);
    expect(await axeProblems(page)).toEqual([]);
  }
  await page.evaluate(() => (document.documentElement.dataset.theme = 'light'));
  for (const { width, height } of SIZES) {
    await size(width, height);
    expect(await sidewaysPx(page), `${width} px wide`).toBeLessThanOrEqual(0);
    expect(await smallTargets(page), `${width} px wide`).toEqual([]);
  }
  await size(1280, 800);
}

describe('start', () => {
  test('a record begins only after practice or a birth was chosen', async () => {
    await page.getByRole('heading', { level: 1, name: 'Utterlog' }).waitFor();
    expect(await button(page, 'Choose practice or a birth first').isDisabled()).toBe(true);
    expect(await page.getByText('Not a medical device', { exact: false }).isVisible()).toBe(true);
    expect(await page.locator('[data-state]').count()).toBe(3);
    await checkHere();
  });

  test('by keyboard alone a practice record begins, and is marked as practice', async () => {
    await page.getByRole('radio', { name: /^Practice/ }).focus();
    await page.keyboard.press('Space');
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await page.getByText('Practice – not a record of a birth').waitFor();
  });
});

describe('live, without a microphone', () => {
  test('the touch pad comes at once and says why', async () => {
    await page.getByRole('alert').filter({ hasText: 'Log by touch.' }).waitFor();
    expect(await button(page, 'Birth').isVisible()).toBe(true);
  });

  test('an entry is logged in two touches and is kept, newest first', async () => {
    await touch(page, 'Birth', 'head-delivered');
    await entries().nth(0).waitFor();
    await touch(page, 'Manoeuvre', 'suprapubic-pressure');
    await entries().nth(1).waitFor();
    expect(await entries().first().innerText()).toContain('Suprapubic pressure');
    // Its slots lie open: one more touch names the side.
    await button(page, 'left').click();
    await page
      .getByText('from the mother’s left')
      .or(page.getByText("from the mother's left"))
      .first()
      .waitFor();
  });

  test('undo, strike out, another time: one or two touches each', async () => {
    await button(page, /^Undo: back to/).click();
    await button(page, /^Undo:/).waitFor();
    // The row that lies open: it moves in the list with its time.
    const row = page.locator('[data-entry]:has(.acts)');
    const time = () => row.locator('.time').innerText();
    const before = await time();
    // Dragged: the row lies open, so one touch moves it.
    await row.getByRole('slider').fill('-83');
    await expect.poll(time).not.toBe(before);
    const dragged = await time();
    expect(secondsOf(before) - secondsOf(dragged)).toBe(83);
    // Typed, to any time; one that has not come yet is refused with a sentence.
    await row.getByLabel('Time', { exact: true }).fill(before);
    await page.keyboard.press('Enter');
    await expect.poll(time).toBe(before);
    await row.getByRole('slider').fill('120');
    await row.getByText('That time has not come yet. Nothing was changed.').waitFor();
    expect(await time()).toBe(before);
    await button(page, 'Strike out').click();
    await row.locator('del').waitFor();
    await button(page, /^Undo: put back/).click();
    await expect.poll(() => entries().locator('del').count()).toBe(0);
  });

  test('by keyboard: group, code, and the focus stays on the pad', async () => {
    await button(page, 'Pushing').focus();
    await page.keyboard.press('Enter');
    await page.locator('[data-code="stop-pushing"]').focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => entries().first().innerText()).toContain('Stop pushing');
    expect(await page.evaluate(() => document.activeElement?.textContent?.trim())).toBe('Pushing');
  });

  test('a code that needs more is logged with it, never half', async () => {
    await touch(page, 'Baby', 'apgar');
    expect(await button(page, 'Log it').isDisabled()).toBe(true);
    await button(page, '5 min').click();
    await button(page, '9').click();
    await checkHere();
    await button(page, 'Log it').click();
    await expect.poll(() => entries().first().innerText()).toContain('9');
  });

  test('a question is answered with one touch', async () => {
    await typeCallOut(page, 'apgar seven');
    await page.locator('[data-question]').waitFor();
    await checkHere();
    await page.locator('[data-question]').getByRole('button', { name: '1 min' }).click();
    await expect.poll(() => page.locator('[data-question]').count()).toBe(0);
    expect(await page.locator('[data-entry]', { hasText: 'Apgar: 7, at 1 min' }).count()).toBe(1);
  });

  test('words that were not understood become an entry', async () => {
    await typeCallOut(page, 'where is the other trolley');
    await button(page, 'Make an entry').click();
    await page.getByText(/Choose what was meant at/).waitFor();
    await touch(page, 'Team', 'help-called');
    await expect.poll(() => button(page, 'Make an entry').count()).toBe(0);
    expect(await page.locator('[data-entry]', { hasText: 'Help called' }).count()).toBe(1);
  });

  test('a marked time is named later', async () => {
    await button(page, 'Mark time').click();
    await button(page, 'Name it').click();
    await touch(page, 'Team', 'operator-change');
    await expect.poll(() => button(page, 'Name it').count()).toBe(0);
  });
});

describe('the room view', () => {
  test('letters of the strip can be read at 4 m on a 13-inch screen; the clock is the largest figure', async () => {
    await typeCallOut(page, 'suprapubic pressure from the left');
    await toRoom(page);
    for (const state of ['filled', 'outlined'] as const) {
      if (state === 'outlined') {
        await toPad(page);
        await typeCallOut(page, 'apgar nine');
        await toRoom(page);
      }
      await page.locator(`.strip.${state}`).waitFor();
      const { strip: lines, clock, largestOther } = await letters(page);
      expect(lines.length).toBeGreaterThanOrEqual(2);
      for (const line of lines) expect(line.capitalPx, line.text).toBeGreaterThanOrEqual(CAPITAL_PX);
      expect(clock.capitalPx).toBeGreaterThan(largestOther);
      const box = (await page.locator('[data-main-clock]').boundingBox())!;
      expect(box.y + box.height).toBeLessThanOrEqual(800);
      await checkHere();
    }
  });

  test('a question is answered on the strip, counted there and on the pad, and comes back by one touch', async () => {
    await page.locator('.strip.outlined').getByRole('button', { name: 'One question' }).waitFor();
    await toPad(page);
    await typeCallOut(page, 'rubin');
    await expect.poll(() => page.locator('.helper > .count').innerText()).toBe('2 questions');
    await toRoom(page);
    await page.locator('.strip').getByRole('button', { name: '2 questions' }).click();
    await expect.poll(() => strip().innerText()).toContain('Which minute?');
    await page.locator('.strip').getByRole('button', { name: '10 min' }).click();
    await expect.poll(() => strip().innerText()).toContain('Apgar 9 at 10 min');
    await page.locator('.strip').getByRole('button', { name: 'One question' }).click();
    await page.locator('.strip').getByRole('button', { name: 'No', exact: true }).click();
    await expect.poll(() => page.locator('.strip .count').count()).toBe(0);
  });

  test('undo of a landmark asks first, on the strip, and says what it struck', async () => {
    await toPad(page);
    await typeCallOut(page, 'baby out');
    await button(page, /^Undo: strike out Baby delivered/).click();
    await toRoom(page);
    await expect.poll(() => strip().innerText()).toMatch(/Baby delivered\s+Strike it out\?/);
    await page.locator('.strip').getByRole('button', { name: 'Yes', exact: true }).click();
    await expect.poll(() => strip().innerText()).toMatch(/Baby delivered\s+Struck out/);
  });

  test('words that were not logged stand in a line of their own, and go', async () => {
    await toPad(page);
    await typeCallOut(page, 'mcroberts off');
    await typeCallOut(page, 'what did the other midwife want');
    expect(await page.locator('.heard-line').innerText()).toBe('');
    await typeCallOut(page, 'mind the shoulder of the gown');
    await page.getByText('Not logged: “mind the shoulder of the gown”').waitFor();
    expect(await page.locator('.line').first().innerText()).toContain('McRoberts stopped');
    expect(await page.locator('.line').first().innerText()).not.toContain('Not logged');
    await expect.poll(() => page.locator('.heard-line').innerText(), { timeout: 7000 }).toBe('');
    await toRoom(page);
  });

  test('no word of any label is wider than the strip', async () => {
    const vocabulary = loadVocabulary();
    const words = [
      ...new Set([...vocabulary.codes.keys()].flatMap((code) => shortLabel({ code }, vocabulary).split(' '))),
    ];
    const tooWide = await strip().evaluate((element, all) => {
      const what = element.querySelector<HTMLElement>('.what')!;
      const room = what.parentElement!.clientWidth;
      const shown = what.textContent;
      what.style.width = 'max-content';
      const wide = all.filter((word) => {
        what.textContent = word;
        return what.offsetWidth > room;
      });
      what.style.width = '';
      what.textContent = shown;
      return wide;
    }, words);
    expect(tooWide).toEqual([]);
  });

  test('state is told by form, word and place, not by colour alone', async () => {
    await toPad(page);
    await typeCallOut(page, 'mcroberts on');
    await toRoom(page);
    await expect.poll(() => strip().innerText()).toMatch(/McRoberts started\s+Logged \d\d:\d\d/);
    expect(await page.locator('.rail span').first().getAttribute('class')).toContain('on');
  });

  test('the clock of the strip runs, and 200 % zoom needs no scrolling sideways', async () => {
    const read = () => page.locator('[data-main-clock]').innerText();
    const before = await read();
    await expect.poll(read, { timeout: 5000 }).not.toBe(before);
    // 200 % zoom of a 1280 px window leaves 640 CSS px.
    await size(640, 400);
    expect(await sidewaysPx(page)).toBeLessThanOrEqual(0);
    await size(1280, 800);
  });
});

test('a second window and the first never disagree', async () => {
  // One touch from the live screen.
  const [helper] = await Promise.all([
    app.context.waitForEvent('page'),
    page.getByRole('link', { name: 'Helper’s window' }).click(),
  ]);
  await helper.locator('[data-entry]').first().waitFor();
  const count = await helper.locator('[data-entry]').count();
  await touch(helper, 'Manoeuvre', 'all-fours');
  await page.bringToFront();
  await expect.poll(() => strip().innerText()).toContain('All fours');
  await toPad(page);
  expect(await entries().count()).toBe(count + 1);
  await touch(page, 'Manoeuvre', 'rubin-2');
  await expect.poll(() => helper.locator('[data-entry]').count()).toBe(count + 2);
  const lines = (where: Page) => where.locator('[data-entry] .line').allInnerTexts();
  expect(await lines(helper)).toEqual(await lines(page));
  expect(await axeProblems(helper)).toEqual([]);
  await helper.close();
});

test('what comes in never pushes the line that is open under the thumb', async () => {
  await page.setViewportSize({ width: 360, height: 640 });
  const helper = await app.context.newPage();
  await helper.goto(page.url().replace('#/live/', '#/helper/'));
  await helper.locator('[data-entry]').first().waitFor();
  await page.bringToFront();
  await page.evaluate(() => document.querySelector('.log')!.scrollTo(0, 0));
  const line = page.locator('[data-entry]:has(.acts)');
  if ((await line.count()) === 0) await entries().first().locator('.line').click();
  await line.waitFor();
  const top = async () => (await line.boundingBox())!.y;
  const before = await top();
  const count = await entries().count();
  await touch(helper, 'Manoeuvre', 'all-fours');
  await expect.poll(() => entries().count()).toBe(count + 1);
  await typeCallOut(helper, 'what did the other midwife want');
  await button(page, 'Make an entry').first().waitFor({ state: 'attached' });
  expect(Math.abs((await top()) - before)).toBeLessThanOrEqual(1);
  await line.locator('.line').click();
  await touch(page, 'Manoeuvre', 'mcroberts');
  await expect.poll(() => entries().first().isVisible()).toBe(true);
  expect(await page.locator('.log').evaluate((log) => log.scrollTop)).toBe(0);
  await helper.close();
  await size(1280, 800);
});

test('nothing went to another origin and nothing broke', () => {
  expect(app.foreign).toEqual([]);
  expect(app.errors).toEqual([]);
});
