import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { openApp, startServer } from './harness.ts';
import { beginRecord, button, toPad, toRoom, touch, typeCallOut } from './live-steps.ts';
import { SIZES } from './screen-checks.ts';

/**
 * Pictures of the screens and states at four widths, for a person to look at: `npm run screens` after a build.
 * `npm run screens -- live` takes those whose name begins so.
 */
const OUT = join(import.meta.dirname, '../../.artefacts/screens');
const only = process.argv[2] ?? '';

async function main(): Promise<void> {
  mkdirSync(OUT, { recursive: true });
  const server = await startServer();
  const app = await openApp(server);
  try {
    await live(app.page);
    for (const path of ['settings', 'voice-check', 'records', 'practice', 'card']) {
      if (!path.startsWith(only)) continue;
      await app.page.goto(`${server.url}#/${path}`);
      await app.page.getByRole('heading', { level: 1 }).first().waitFor();
      await take(app.page, path);
    }
  } finally {
    await app.close();
    server.stop();
  }
}

async function take(page: Page, name: string): Promise<void> {
  if (!name.startsWith(only)) return;
  for (const { width, height } of SIZES) {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(150);
    await page.screenshot({ path: join(OUT, `${name}-${width}.png`) });
  }
  await page.setViewportSize({ width: 1280, height: 800 });
}

async function live(page: Page): Promise<void> {
  await page.getByRole('heading', { level: 1 }).waitFor();
  await page.waitForTimeout(1500);
  await take(page, 'start');
  await beginRecord(page, 'real');
  await page.getByRole('alert').first().waitFor();
  await take(page, 'live-pad-empty');
  await touch(page, 'Birth', 'head-delivered');
  await typeCallOut(page, 'shoulder dystocia');
  await typeCallOut(page, 'mcroberts on');
  await button(page, 'Manoeuvre').click();
  await take(page, 'live-pad-sheet');
  await page.locator('[data-code="suprapubic-pressure"]').click();
  await button(page, 'left').click();
  await take(page, 'live-pad-entry');
  await touch(page, 'Baby', 'apgar');
  await take(page, 'live-pad-draft');
  await page.keyboard.press('Escape');
  await page.keyboard.press('Escape');
  await toRoom(page);
  await take(page, 'live-room-logged');
  await toPad(page);
  await typeCallOut(page, 'apgar nine');
  await page.locator('[data-question]').waitFor();
  await take(page, 'live-pad-question');
  await toRoom(page);
  await take(page, 'live-room-question');
  await toPad(page);
  await button(page, 'Nothing to log').click();
  await typeCallOut(page, 'where is the other trolley and who has the keys');
  await take(page, 'live-pad-unheard');
  await toRoom(page);
  await take(page, 'live-room-unheard');
  await toPad(page);
  await typeCallOut(page, 'baby out');
  await toRoom(page);
  await take(page, 'live-room-born');
  for (const theme of ['dark', 'contrast']) {
    await page.evaluate((name) => (document.documentElement.dataset.theme = name), theme);
    await take(page, `live-room-${theme}`);
  }
  await page.evaluate(() => (document.documentElement.dataset.theme = 'light'));
}

await main();
