import { join } from 'node:path';
import { parseArgs } from 'node:util';
import type { Page } from 'playwright-core';
import { median } from './statistics.ts';
import messages from '../ui/messages/en.json' with { type: 'json' };
import { openApp, startServer } from '../../tests/browser/harness.ts';
import { beginRecord } from '../../tests/browser/live-steps.ts';

/**
 * Measures the screens in a real browser: how far things jump, how soon there is something to see, and how long a
 * restart without a network takes until the room is heard. `npm run bench:screens` after a build; exit code 1 where
 * a limit is passed. `-- --rounds N` for more starts, `-- --part jumps` or
 * `restarts` for one half.
 */
const { values } = parseArgs({
  options: { rounds: { type: 'string', default: '5' }, part: { type: 'string', default: 'all' } },
});
const ROUNDS = Number(values.rounds);
const LIMITS = { shift: 0.05, firstPaintMs: 1000, listeningMs: 3000 };
const WAV = join(import.meta.dirname, '../../static/practice/posterior-arm.wav');
const SIZES = [
  { width: 360, height: 640 },
  { width: 768, height: 1024 },
  { width: 1280, height: 800 },
];
let over = false;

/**
 * The cumulative layout shift as web.dev/articles/cls defines it: of what jumps without a touch just before, the worst
 * sum of a burst (pauses under 1 s, 5 s at most). Names what moved in it.
 */
function countShifts(): void {
  const shifts = { worst: 0, moved: [] as string[], sum: 0, beganMs: 0, lastMs: 0, burst: [] as string[] };
  Object.assign(window, { shifts });
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries() as (PerformanceEntry & {
      value: number;
      hadRecentInput: boolean;
      sources: { node?: Node; previousRect: DOMRect; currentRect: DOMRect }[];
    })[]) {
      if (entry.hadRecentInput) continue;
      const { startTime } = entry;
      if (startTime - shifts.lastMs > 1000 || startTime - shifts.beganMs > 5000)
        Object.assign(shifts, { sum: 0, beganMs: startTime, burst: [] });
      shifts.lastMs = startTime;
      shifts.sum += entry.value;
      const where = entry.sources.map(({ node, previousRect, currentRect }) => {
        const element = node instanceof Element ? node : node?.parentElement;
        const name = element?.className || element?.parentElement?.className || element?.localName;
        return `${name} ${previousRect.y}→${currentRect.y}`;
      });
      shifts.burst.push(`${entry.value.toFixed(3)} ${where.join(', ')}`);
      if (shifts.sum > shifts.worst) Object.assign(shifts, { worst: shifts.sum, moved: [...shifts.burst] });
    }
  }).observe({ type: 'layout-shift', buffered: true });
}

interface Shifts {
  worst: number;
  moved: string[];
}
const shifts = (page: Page) => page.evaluate(() => (window as unknown as { shifts: Shifts }).shifts);
const forget = (page: Page) =>
  page.evaluate(
    () =>
      void Object.assign((window as unknown as { shifts: Shifts }).shifts, {
        worst: 0,
        moved: [],
        sum: 0,
        lastMs: 0,
        burst: [],
      }),
  );

function tell(what: string, value: number, limit: number, unit: string, detail = ''): void {
  const passed = value > limit;
  over ||= passed;
  const number = unit === 'ms' ? Math.round(value).toString() : value.toFixed(3);
  console.log(
    `${what.padEnd(52)} ${number.padStart(6)} ${unit.padEnd(2)} (limit ${limit})${passed ? ' OVER' : ''} ${detail}`,
  );
}

const ready = (page: Page) => page.getByText(messages.start.model.ready).waitFor({ timeout: 90_000 });

async function jumps(url: string, stop: () => void): Promise<void> {
  for (const viewport of SIZES) {
    const app = await openApp({ url, stop }, { microphoneWav: WAV, viewport, before: countShifts });
    const { page } = app;
    await ready(page);
    await page.waitForTimeout(3_000);
    const start = await shifts(page);
    tell(`layout shift, start, ${viewport.width} px`, start.worst, LIMITS.shift, '', start.moved.join('; '));
    await beginRecord(page, 'practice');
    // From the first entry on: how the screen comes is an answer to the touch.
    await page.waitForTimeout(700);
    await forget(page);
    await page
      .waitForFunction(() => document.querySelectorAll('[data-entry]').length >= 1, null, {
        timeout: 60_000,
      })
      .catch(() => {});
    await page.waitForTimeout(40_000);
    const live = await shifts(page);
    tell(
      `layout shift, live, 40 s of a birth, ${viewport.width} px`,
      live.worst,
      LIMITS.shift,
      '',
      live.moved.join('; '),
    );
    await app.close();
  }
}

/** Starts of the browser with the server gone: paint, and the time until the room is heard. */
async function restarts(): Promise<void> {
  const server = await startServer();
  let app = await openApp(server, { microphoneWav: WAV });
  await ready(app.page);
  await app.page.evaluate(async () => {
    const worker = (await navigator.serviceWorker.ready).active!;
    await new Promise<void>((done) => {
      navigator.serviceWorker.addEventListener('message', ({ data }) => {
        if (data.kind === 'offline-state' && data.keptBytes === data.totalBytes) done();
      });
      worker.postMessage({ kind: 'keep-all' });
      worker.postMessage({ kind: 'state' });
    });
  });
  const { profile } = app;
  await app.close(false);
  server.stop();
  const paints: number[] = [];
  const readies: number[] = [];
  const hears: number[] = [];
  const launches: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    app = await openApp(server, { microphoneWav: WAV, profile });
    const { page } = app;
    await page.waitForFunction(() => performance.getEntriesByName('first-contentful-paint').length > 0);
    paints.push(
      await page.evaluate(() => performance.getEntriesByName('first-contentful-paint')[0]!.startTime),
    );
    await ready(page);
    readies.push(await page.evaluate(() => performance.now()));
    await page.getByRole('radio', { name: /^Practice/ }).check();
    const touched = Date.now();
    await page.getByRole('button', { name: messages.start.begin.practice }).click();
    await page
      .getByText(messages.live.hearing.listening, { exact: true })
      .or(page.getByText(messages.live.hearing.speaking, { exact: true }))
      .first()
      .waitFor({ timeout: 60_000 });
    hears.push(Date.now() - touched);
    launches.push(await page.evaluate(() => performance.now()));
    await app.close(round === ROUNDS - 1);
  }
  const spread = (all: number[]) => `of ${ROUNDS}: ${all.map(Math.round).join(' ')}`;
  tell('first paint from cache, no network', median(paints), LIMITS.firstPaintMs, 'ms', spread(paints));
  tell(
    'launch to model ready and microphone open, no network',
    median(readies),
    LIMITS.listeningMs,
    'ms',
    spread(readies),
  );
  tell(
    'launch to listening, touched as soon as ready',
    median(launches),
    LIMITS.listeningMs,
    'ms',
    spread(launches),
  );
  tell('touch of the large button to listening', median(hears), LIMITS.listeningMs, 'ms', spread(hears));
}

if (values.part !== 'restarts') {
  const server = await startServer();
  await jumps(server.url, server.stop);
  server.stop();
}
if (values.part !== 'jumps') await restarts();
process.exit(over ? 1 : 0);
