import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { expect } from 'vitest';
import type { RecordFile } from '../../src/core/log/events.ts';
import { importRecord } from '../../src/core/record/import.ts';
import type { Department } from '../shared/department.ts';
import { beginRecord, button } from './live-steps.ts';

export const go = (page: Page, name: string) => page.evaluate((to) => void (location.hash = to), `#/${name}`);
export const idOf = (page: Page) => page.evaluate(() => location.hash.split('/')[2]!);
export const rootOf = (page: Page) => page.locator('p.root').innerText();

export async function turnOn(page: Page, url: string, department: Department): Promise<void> {
  await page.goto(`${url}#/settings`);
  await page.getByLabel('Pass', { exact: true }).fill(department.pass('A. Sample', 'records'));
  await button(page, 'Turn sharing on').click();
  await page.getByText(/^On: Invented department, as A\. Sample/).waitFor();
  await page.goto(`${url}#/`);
}

/** A record that the host has begun and shares; it stands on the sharing screen. */
export async function beginShared(page: Page, url: string, department: Department): Promise<string> {
  await turnOn(page, url, department);
  await beginRecord(page, 'practice');
  const recordId = await idOf(page);
  await go(page, `share/${recordId}`);
  await button(page, 'Share this record').click();
  await page.getByText('The server answers.').waitFor();
  return recordId;
}

/** From the host's sharing screen to a guest that is let in, by the code that is typed. */
export async function letIn(host: Page, guest: Page, as: 'pad' | 'wall' = 'pad'): Promise<string> {
  await button(host, as === 'pad' ? 'Let in a helper’s pad' : 'Let in a wall screen (reads only)').click();
  const code = await host.locator('.code strong').innerText();
  await guest.getByRole('link', { name: 'Join a record' }).click();
  await guest.getByLabel('Code').fill(code.toLowerCase());
  await button(guest, 'Join').click();
  const there = await host.locator('.four').innerText();
  const here = await guest.locator('.four').innerText();
  expect(here).toBe(there);
  expect(here.split(' ')).toHaveLength(4);
  await button(host, 'Yes, the same words: let it in').click();
  await host.getByText('The device was let in.').waitFor();
  await guest.waitForURL(as === 'pad' ? /#\/helper\// : /#\/wall\//);
  return code;
}

/** The record as this device exports it. */
export async function exported(page: Page, recordId: string): Promise<RecordFile> {
  await go(page, `hand-out/${recordId}`);
  await page.locator('summary', { hasText: 'Files for other programs' }).click();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    button(page, 'JSON (the record)').click(),
  ]);
  const read = importRecord(readFileSync(await download.path(), 'utf8'));
  if (read.kind !== 'ok') throw new Error(JSON.stringify(read));
  return read.file;
}

/** Notes when each "item N" first stands on the page, and when each form was sent: true ms of the machine. */
export async function watch(page: Page): Promise<void> {
  await page.evaluate(() => {
    const seen: Record<string, number> = {};
    const sent: number[] = [];
    const now = () => performance.timeOrigin + performance.now();
    const look = (node: Node) => {
      for (const [, n] of (node.textContent ?? '').matchAll(/item (\d+)/g)) seen[n!] ??= now();
    };
    new MutationObserver((all) => {
      for (const change of all) for (const node of change.addedNodes) look(node);
      for (const change of all) if (change.type === 'characterData') look(change.target);
    }).observe(document.body, { childList: true, subtree: true, characterData: true });
    addEventListener('submit', () => sent.push(now()), { capture: true });
    Object.assign(window, { seenItems: seen, sentForms: sent });
  });
}
export const seenItems = (page: Page) =>
  page.evaluate(() => (window as unknown as { seenItems: Record<string, number> }).seenItems);
export const sentForms = (page: Page) =>
  page.evaluate(() => (window as unknown as { sentForms: number[] }).sentForms);
