import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { binary, Department } from '../shared/department.ts';
import { openApp, type OpenApp, type OpenOptions } from './harness.ts';
import { beginRecord, button, typeCallOut } from './live-steps.ts';
import { serveShared } from './shared-server.ts';

describe.skipIf(!binary)('a record on several devices', () => {
  let department: Department;
  let site: Awaited<ReturnType<typeof serveShared>>;
  const open: OpenApp[] = [];
  beforeAll(async () => {
    department = await Department.open();
    site = await serveShared(department);
  });
  afterEach(async () => {
    await Promise.all(open.splice(0).map((app) => app.close()));
  });
  afterAll(async () => {
    site?.stop();
    await department?.close();
  });

  async function device(options: OpenOptions = {}): Promise<OpenApp> {
    const app = await openApp({ url: site.url, stop: () => {} }, options);
    open.push(app);
    return app;
  }

  async function turnOn(page: Page): Promise<void> {
    await page.goto(`${site.url}#/settings`);
    await page.getByLabel('Pass', { exact: true }).fill(department.pass('A. Sample', 'records'));
    await button(page, 'Turn sharing on').click();
    await page.getByText(/^On: Invented department, as A\. Sample/).waitFor();
    await page.goto(`${site.url}#/`);
  }

  const go = (page: Page, name: string) => page.evaluate((to) => (location.hash = to), `#/${name}`);
  const idOf = (page: Page) => page.evaluate(() => location.hash.split('/')[2]!);
  const rootOf = (page: Page) => page.locator('p.root').innerText();

  /** From the record's live screen to a guest that is let in, by the code that is typed. */
  async function letIn(host: Page, guest: Page, as: 'pad' | 'wall' = 'pad'): Promise<string> {
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

  async function begun(): Promise<{ host: OpenApp; recordId: string }> {
    const host = await device();
    await turnOn(host.page);
    await beginRecord(host.page, 'practice');
    const recordId = await idOf(host.page);
    await go(host.page, `share/${recordId}`);
    await button(host.page, 'Share this record').click();
    await host.page.getByText('The server answers.').waitFor();
    return { host, recordId };
  }

  test('off until somebody turns it on: no link, no connection, none of its code', async () => {
    const { page, foreign } = await device();
    const asked: string[] = [];
    page.on('request', (request) => asked.push(request.url()));
    page.on('websocket', (socket) => asked.push(socket.url()));
    await beginRecord(page, 'practice');
    expect(await page.getByRole('link', { name: 'Share' }).count()).toBe(0);
    expect(asked.filter((url) => /sharing|nats|shared\.json|\/log/.test(url))).toEqual([]);
    expect(foreign).toEqual([]);
  });

  test('a phone joins by code and four words; each sees what the other enters, and both show one root', async () => {
    const { host, recordId } = await begun();
    const phone = await device({ viewport: { width: 390, height: 844 } });
    await letIn(host.page, phone.page);
    await typeCallOut(phone.page, 'head delivered');
    await phone.page.getByText('Head delivered').first().waitFor();
    await go(host.page, `live/${recordId}`);
    await host.page.getByText('Head delivered').first().waitFor();
    await typeCallOut(host.page, 'mcroberts');
    await phone.page.getByText('McRoberts').first().waitFor();
    await go(host.page, `share/${recordId}`);
    await go(phone.page, `share/${recordId}`);
    await expect.poll(async () => (await rootOf(host.page)) === (await rootOf(phone.page))).toBe(true);
    expect(host.errors.concat(phone.errors)).toEqual([]);
    expect(host.foreign.concat(phone.foreign)).toEqual([]);
  });
});
