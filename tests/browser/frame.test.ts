import puppeteer from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ensureFirefox } from '../tools.ts';
import { type Frame, FRAMES, measureFrame, panelMmAcross } from './frame-steps.ts';
import { type AppServer, openApp, startServer } from './harness.ts';

/**
 * The live screen's fixed frame at every size, in Chromium and Firefox: a practice record without a microphone on a
 * device that keeps nothing, so that the practice mark and both of the longest warnings stand there at once.
 */
const FIREFOX = ensureFirefox();
/** Capitals of the strip are read at 4 m and what is under way at 3 m: 5.8 mm of height for each metre. */
const STRIP_MM = 23;
/** A question of three lines and its answers share the strip: the fewest mm of its capitals. Read at 3.2 m. */
const LONGEST_MM = 19;
const UNDER_WAY_MM = 17;
const NO_DATABASE = 'Object.defineProperty(window, "indexedDB", { get: () => undefined })';
const BIRTH = [
  'head delivered',
  'mcroberts on',
  'suprapubic pressure from the left',
  'going for the posterior arm',
];
/** What fills the strip most: a question about a long value, a long name with its time, two in one breath. */
const LONG = [
  'apgar nine',
  'reverse woods screw anticlockwise failed',
  'stop pushing and call the anaesthetist',
];
/** A question about a free note: three lines, five answers. */
const LONGEST = 'reverse rubin manoeuvre';

interface Screen {
  evaluate<T>(run: () => T): Promise<T>;
  run(script: string): Promise<unknown>;
  size(width: number, height: number): Promise<unknown>;
  close(): Promise<unknown>;
}

async function inChromium(server: AppServer): Promise<Screen> {
  const app = await openApp(server, { path: '#/' });
  await app.context.addInitScript(NO_DATABASE);
  await app.page.reload();
  return {
    evaluate: (run) => app.page.evaluate(run),
    run: (script) => app.page.evaluate(script),
    size: (width, height) => app.page.setViewportSize({ width, height }),
    close: () => app.close(),
  };
}

async function inFirefox(server: AppServer): Promise<Screen> {
  const browser = await puppeteer.launch({
    browser: 'firefox',
    protocol: 'webDriverBiDi',
    executablePath: FIREFOX!,
    headless: true,
    extraPrefsFirefox: { 'permissions.default.microphone': 2 },
  });
  const page = (await browser.pages())[0] ?? (await browser.newPage());
  await page.evaluateOnNewDocument(NO_DATABASE);
  await page.goto(server.url);
  return {
    evaluate: (run) => page.evaluate(run) as Promise<Awaited<ReturnType<typeof run>>>,
    run: (script) => page.evaluate(script),
    size: (width, height) => page.setViewport({ width, height }),
    close: () => browser.close(),
  };
}

const press = (name: string) =>
  `[...document.querySelectorAll('button')].find((one) => one.textContent.trim() === '${name}').click()`;

async function until(screen: Screen, script: string): Promise<void> {
  for (const begun = Date.now(); Date.now() - begun < 20_000;) {
    if (await screen.run(`Boolean(${script})`)) return;
    await new Promise((again) => setTimeout(again, 100));
  }
  throw new Error(`Not within 20 s: ${script}`);
}

async function callOut(screen: Screen, words: string): Promise<void> {
  const before = (await screen.run(`document.querySelector('.line .what').textContent`)) as string;
  await screen.run(`{
    const field = document.querySelector('.helper input');
    field.value = '${words}';
    field.dispatchEvent(new Event('input', { bubbles: true }));
    ${press('Enter')};
  }`);
  await until(screen, `document.querySelector('.line .what').textContent !== ${JSON.stringify(before)}`);
}

describe.each([
  ['Chromium', inChromium],
  ['Firefox', inFirefox],
] as const)('the frame in %s', (name, open) => {
  const skipped = name === 'Firefox' && FIREFOX === null;
  let server: AppServer;
  let screen: Screen;
  beforeAll(async () => {
    if (skipped) return;
    server = await startServer();
    screen = await open(server);
    await until(screen, `document.querySelector('input[type=radio]')`);
    await screen.run(`document.querySelector('input[type=radio]').click()`);
    await until(
      screen,
      `[...document.querySelectorAll('button')].some((b) => b.textContent.trim() === 'Begin practice')`,
    );
    await screen.run(press('Begin practice'));
    await until(screen, `document.querySelector('.helper input') && document.querySelector('.keeping')`);
    for (const words of BIRTH) await callOut(screen, words);
  }, 120_000);
  afterAll(async () => {
    await screen?.close();
    server?.stop();
  });

  const frames = async (): Promise<Map<string, Frame>> => {
    await screen.run(press('Room view'));
    await until(screen, `document.querySelector('.inside')`);
    const found = new Map<string, Frame>();
    for (const { width, height } of FRAMES) {
      await screen.size(width, height);
      await screen.run(`document.fonts.ready.then(() => new Promise((done) => setTimeout(done, 200)))`);
      found.set(`${width} × ${height}`, await screen.evaluate(measureFrame));
    }
    await screen.size(1280, 800);
    await screen.run(press('Helper’s pad'));
    await until(screen, `document.querySelector('.helper input')`);
    return found;
  };

  let first: Map<string, Frame>;
  test.skipIf(skipped).each([BIRTH.at(-1)!, ...LONG, LONGEST])(
    'after “%s” all is whole and in view, and nothing has moved',
    async (words) => {
      if (words !== BIRTH.at(-1)) await callOut(screen, words);
      const found = await frames();
      first ??= found;
      for (const [size, frame] of found) {
        const [width, height] = size.split(' × ').map(Number) as [number, number];
        expect.soft(frame.cut, size).toEqual([]);
        expect.soft(frame.scrollsBy, size).toBeLessThanOrEqual(0);
        expect.soft(frame.alerts, `${size}: warnings`).toBeGreaterThanOrEqual(2);
        expect.soft(frame.mark, `${size}: practice mark`).toBe(1);
        expect.soft(frame.underWay.length, `${size}: under way`).toBeGreaterThanOrEqual(3);
        expect.soft(frame.boxes, `${size}: places`).toEqual(first.get(size)!.boxes);
        expect.soft(frame.clockCapitalPx, size).toBeGreaterThan(frame.stripCapitalPx);
        if (width < 1280 || height < 720) continue;
        const pxPerMm = Math.hypot(width, height) / panelMmAcross;
        expect
          .soft(frame.stripCapitalPx / pxPerMm, `${size}: strip, mm`)
          .toBeGreaterThanOrEqual(words === LONGEST ? LONGEST_MM : STRIP_MM);
        expect
          .soft(frame.underWayCapitalPx / pxPerMm, `${size}: under way, mm`)
          .toBeGreaterThanOrEqual(UNDER_WAY_MM);
      }
    },
    120_000,
  );
});
