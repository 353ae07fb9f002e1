import type { Page } from 'playwright-core';

export const button = (page: Page, name: string | RegExp) =>
  page.getByRole('button', { name, exact: typeof name === 'string' });

/** From the first screen into a running record; without a microphone the touch pad comes by itself. */
export async function beginRecord(page: Page, mode: 'practice' | 'real'): Promise<void> {
  await page.getByRole('radio', { name: mode === 'practice' ? /^Practice/ : /^A birth/ }).check();
  await button(page, mode === 'practice' ? 'Begin practice' : 'Begin the record').click();
  await page.waitForURL(/#\/live\//);
  await page.getByRole('heading', { level: 1, name: 'Live record' }).waitFor();
}

/** Types a call-out on the pad: it goes the way of a spoken one. */
export async function typeCallOut(page: Page, words: string): Promise<void> {
  await page.getByLabel('Type a call-out').fill(words);
  await button(page, 'Enter').click();
}

/** Logs a code by touch: the group, then the code. */
export async function touch(page: Page, group: string, code: string): Promise<void> {
  await button(page, group).click();
  await page.locator(`[data-code="${code}"]`).click();
}

export const toRoom = (page: Page) => button(page, 'Room view').click();
export const toPad = (page: Page) => button(page, 'Helper’s pad').click();
