import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { exportRecord } from '../../src/core/record/export.ts';
import { closingOf } from '../../src/core/log/closing.ts';
import { rootOf as rootOfEvents, arranged } from '../../src/core/log/lanes.ts';
import { binary, Department } from '../shared/department.ts';
import { Device } from '../shared/devices.ts';
import { Wire } from '../shared/wire.ts';
import { axeProblems } from './axe.ts';
import { openApp, type OpenApp, type OpenOptions } from './harness.ts';
import { beginRecord, button, typeCallOut } from './live-steps.ts';
import { serveShared } from './shared-server.ts';
import {
  beginShared,
  exported,
  go,
  letIn,
  rootOf,
  seenItems,
  sentForms,
  turnOn,
  watch,
} from './shared-steps.ts';

const at = (sorted: number[], share: number) =>
  sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))]!;

describe.skipIf(!binary)('a record on several devices', () => {
  let department: Department;
  /** Two ways to the same log: each can be cut by itself. */
  let wires: [Wire, Wire];
  let sites: Awaited<ReturnType<typeof serveShared>>[];
  const open: OpenApp[] = [];
  beforeAll(async () => {
    department = await Department.open();
    const log = () => department.kept.browserPorts[0]!;
    wires = [await Wire.open(log), await Wire.open(log)];
    sites = await Promise.all(wires.map((wire) => serveShared(department, { logPort: () => wire.port })));
  });
  afterEach(async () => {
    for (const wire of wires) wire.mend();
    await Promise.all(open.splice(0).map((app) => app.close()));
  });
  afterAll(async () => {
    for (const site of sites ?? []) site.stop();
    for (const wire of wires ?? []) wire.close();
    await department?.close();
  });

  async function device(site: 0 | 1 = 0, options: OpenOptions = {}): Promise<OpenApp> {
    const app = await openApp({ url: sites[site]!.url, stop: () => {} }, options);
    open.push(app);
    return app;
  }
  async function two(
    options: OpenOptions = {},
  ): Promise<{ host: OpenApp; guest: OpenApp; recordId: string }> {
    const host = await device(0);
    const recordId = await beginShared(host.page, sites[0]!.url, department);
    const guest = await device(1, options);
    await letIn(host.page, guest.page);
    return { host, guest, recordId };
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
    const { host, guest: phone, recordId } = await two({ viewport: { width: 390, height: 844 } });
    await typeCallOut(phone.page, 'head delivered');
    await phone.page.getByText('Head delivered').first().waitFor();
    await go(host.page, `live/${recordId}`);
    await host.page.getByText('Head delivered').first().waitFor();
    await typeCallOut(host.page, 'mcroberts');
    await phone.page.getByText('McRoberts').first().waitFor();
    await go(host.page, `share/${recordId}`);
    await go(phone.page, `share/${recordId}`);
    await expect.poll(async () => (await rootOf(host.page)) === (await rootOf(phone.page))).toBe(true);
    for (const { page } of [host, phone]) expect(await axeProblems(page)).toEqual([]);
    expect(host.errors.concat(phone.errors)).toEqual([]);
    expect(host.foreign.concat(phone.foreign)).toEqual([]);
  });

  test('what is durable on one is soon durable on the other', async () => {
    const { host, guest, recordId } = await two();
    await go(host.page, `helper/${recordId}`);
    await host.page.getByLabel('Type a call-out').waitFor();
    await watch(host.page);
    await watch(guest.page);
    const COUNT = 100;
    for (let n = 0; n < COUNT; n++) await typeCallOut(n % 2 ? host.page : guest.page, `note item ${n}`);
    await expect
      .poll(async () => Object.keys(await seenItems(host.page)).length, { timeout: 20_000 })
      .toBe(COUNT);
    await expect
      .poll(async () => Object.keys(await seenItems(guest.page)).length, { timeout: 20_000 })
      .toBe(COUNT);
    const [h, g] = [await seenItems(host.page), await seenItems(guest.page)];
    const late = Array.from({ length: COUNT }, (_, n) => (n % 2 ? g[n]! - h[n]! : h[n]! - g[n]!)).sort(
      (a, b) => a - b,
    );
    const [median, most] = [at(late, 0.5), at(late, 0.95)];
    console.log(
      `shown on A to shown on B: median ${median.toFixed(0)} ms, 95th ${most.toFixed(0)} ms, longest ${late.at(-1)!.toFixed(0)} ms`,
    );
    // The goals are 50 and 250 ms, drawing included; wide limits for a busy machine, the figures are printed.
    expect(median).toBeLessThan(300);
    expect(most).toBeLessThan(1_000);
  });

  test('the clock of a device whose wall clock is 90 s ahead agrees with the record’s within 50 ms', async () => {
    const { host, guest, recordId } = await two({
      before: () => {
        const real = Date;
        const AHEAD = 90_000;
        // Every Date of the page, as if the device's clock had been set so.
        window.Date = new Proxy(real, {
          construct: (target, args: []) =>
            args.length ? new target(...args) : new target(real.now() + AHEAD),
          get: (target, key) => (key === 'now' ? () => real.now() + AHEAD : Reflect.get(target, key)),
        });
      },
    });
    expect(Math.round(((await guest.page.evaluate(() => Date.now())) - Date.now()) / 1000)).toBe(90);
    await go(host.page, `helper/${recordId}`);
    await host.page.getByLabel('Type a call-out').waitFor();
    await watch(host.page);
    await watch(guest.page);
    for (let n = 0; n < 10; n++) await typeCallOut(n % 2 ? host.page : guest.page, `note item ${n}`);
    await expect.poll(async () => Object.keys(await seenItems(host.page)).length).toBe(10);
    const [fromHost, fromGuest] = [await sentForms(host.page), await sentForms(guest.page)];
    const file = await exported(host.page, recordId);
    const atMs = (n: number) => {
      const found = file.events.find((event) => event.kind === 'entry' && event.entry.text === `item ${n}`);
      if (found?.kind !== 'entry') throw new Error(`no item ${n}`);
      return found.atMs;
    };
    // What each device's record time is behind the one machine clock that both pages share.
    const behind = { host: [] as number[], guest: [] as number[] };
    for (let n = 0; n < 10; n++) {
      const sent = n % 2 ? fromHost[(n - 1) / 2]! : fromGuest[n / 2]!;
      behind[n % 2 ? 'host' : 'guest'].push(sent - atMs(n));
    }
    const middle = (all: number[]) => [...all].sort((a, b) => a - b)[2]!;
    const apart = middle(behind.guest) - middle(behind.host);
    console.log(`record clocks apart: ${apart.toFixed(3)} ms, wall clocks 90,000 ms`);
    expect(Math.abs(apart)).toBeLessThan(50);
    expect(file.spans).toHaveLength(1);
  });

  test('two devices cut apart go on and come together: every event once, same order and root', async () => {
    const { host, guest, recordId } = await two();
    await go(host.page, `helper/${recordId}`);
    await host.page.getByLabel('Type a call-out').waitFor();
    wires[0].cut();
    wires[1].silence();
    for (let n = 0; n < 8; n++) await typeCallOut(n % 2 ? host.page : guest.page, `note item ${n}`);
    await host.page.getByRole('link', { name: /not sent/ }).waitFor();
    await guest.page.getByRole('link', { name: /not sent/ }).waitFor();
    for (const wire of wires) wire.mend();
    for (const app of [host, guest]) {
      await app.page.getByRole('link', { name: 'Shared: 2' }).waitFor({ timeout: 20_000 });
      for (let n = 0; n < 8; n++) await app.page.getByText(`item ${n}`).first().waitFor();
    }
    const [a, b] = [await exported(host.page, recordId), await exported(guest.page, recordId)];
    expect(b.events.map(({ hash }) => hash)).toEqual(a.events.map(({ hash }) => hash));
    expect(rootOfEvents(b.events)).toBe(rootOfEvents(a.events));
    expect(new Set(a.events.map(({ lane, laneSeq }) => `${lane}:${laneSeq}`)).size).toBe(a.events.length);
  });

  test('a wall shows the record and has nothing to touch it with; who is sent away is told', async () => {
    const host = await device(0);
    const recordId = await beginShared(host.page, sites[0]!.url, department);
    const wall = await device(1);
    await letIn(host.page, wall.page, 'wall');
    await go(host.page, `live/${recordId}`);
    await typeCallOut(host.page, 'head delivered');
    await wall.page.getByText('Head delivered').first().waitFor();
    expect(await wall.page.getByLabel('Type a call-out').count()).toBe(0);
    await go(host.page, `share/${recordId}`);
    await button(host.page, 'Send away').click();
    await host.page.getByRole('dialog').getByRole('button', { name: 'Send away' }).click();
    await host.page.getByText('What is written from now on is under a new key.').first().waitFor();
    await go(wall.page, `share/${recordId}`);
    await wall.page
      .getByText(/was sent away from the record/)
      .first()
      .waitFor();
    await go(host.page, `live/${recordId}`);
    await typeCallOut(host.page, 'mcroberts');
    await host.page.getByText('McRoberts').first().waitFor();
    await go(wall.page, `wall/${recordId}`);
    await wall.page.waitForTimeout(1500);
    expect(await wall.page.getByText('McRoberts').count()).toBe(0);
  });

  test('a wrong code, a used one and another department’s server are refused with a sentence', async () => {
    const { host, recordId } = await two();
    await go(host.page, `share/${recordId}`);
    const third = await device(1);
    await third.page.getByRole('link', { name: 'Join a record' }).click();
    await third.page.getByLabel('Code').fill('ABCD');
    await button(third.page, 'Join').click();
    await third.page.getByText('These are not the twelve signs of a code.', { exact: false }).waitFor();
    await third.page.getByLabel('Code').fill('ABCD-EFGH-JKMN');
    await button(third.page, 'Join').click();
    await third.page.getByText('This invitation has ended or never was.', { exact: false }).waitFor();
    const other = await Department.open();
    const foreign = await serveShared(other);
    await third.page.goto(`${foreign.url}#/settings`);
    await third.page.getByLabel('Pass', { exact: true }).fill(department.pass('A. Sample', 'records'));
    await button(third.page, 'Turn sharing on').click();
    await third.page.getByText('This pass was not made by this server.', { exact: false }).waitFor();
    foreign.stop();
    await other.close();
  });

  test('what two devices changed apart is a card; who chooses settles it', async () => {
    const [a, b] = [await (await Device.make('a')).begin(), await Device.make('b')];
    const [entry] = await a.call(1);
    b.file = a.file;
    const entryId = entry!.kind === 'entry' ? entry!.entryId : '';
    const side = (to: 'left' | 'right') =>
      ({ kind: 'replace', entryId, entry: { code: 'suprapubic-pressure', side: to } }) as const;
    await a.write(side('left'));
    await b.write(side('right'));
    const fresh = b.file.events.filter(({ hash }) => !a.file.events.some((event) => event.hash === hash));
    const file = arranged({ ...a.file, events: [...a.file.events, ...fresh] });
    const { page } = await device();
    await go(page, 'records');
    const text = exportRecord(file, closingOf(file));
    const buffer = Buffer.from(text);
    await page
      .locator('input[type=file]')
      .setInputFiles([{ name: 'r.json', mimeType: 'application/json', buffer }]);
    await page.getByText(/record imported/).waitFor();
    await go(page, `questions/${file.recordId}`);
    const card = page.getByText('Which holds?');
    await card.waitFor();
    await page
      .getByRole('button', { name: /suprapubic pressure.*left/i })
      .first()
      .click();
    await card.waitFor({ state: 'detached' });
  });

  test('a record is signed off from another desk with the department’s key; the first device shows it', async () => {
    const host = await device(0);
    const recordId = await beginShared(host.page, sites[0]!.url, department);
    await go(host.page, `live/${recordId}`);
    await typeCallOut(host.page, 'head delivered');
    await typeCallOut(host.page, 'note signed elsewhere');
    await host.page.getByText('signed elsewhere').first().waitFor();
    await host.page.waitForTimeout(2500);
    const desk = await device(1);
    await desk.page.goto(`${sites[1]!.url}#/settings`);
    await desk.page.getByLabel('Pass', { exact: true }).fill(department.pass('B. Sample', 'reads', 'signs'));
    await button(desk.page, 'Turn sharing on').click();
    await desk.page.getByText(/^On: Invented department/).waitFor();
    await go(desk.page, 'shared-records');
    const other = await Department.open();
    const file = (key: object) => [
      { name: 'key.json', mimeType: 'application/json', buffer: Buffer.from(JSON.stringify(key)) },
    ];
    await desk.page.locator('input[type=file]').setInputFiles(file(other.key));
    await desk.page.getByText('This is another department’s key', { exact: false }).waitFor();
    await other.close();
    await desk.page.locator('input[type=file]').setInputFiles(file(department.key));
    const row = desk.page.locator('li').filter({ hasText: 'not finished' }).first();
    await row.waitFor();
    await row.getByRole('button', { name: 'Open' }).click();
    await desk.page.waitForURL(new RegExp(`#/(review|questions)/`));
    await desk.page.getByRole('link', { name: /^Sign/ }).click();
    await desk.page.getByLabel('Name', { exact: true }).fill('B. Sample');
    await desk.page.getByRole('textbox', { name: 'Role', exact: true }).fill('midwife');
    await button(desk.page, 'Sign').click();
    await desk.page.getByText('B. Sample').first().waitFor();
    await go(host.page, `sign/${recordId}`);
    await host.page.getByText('B. Sample').first().waitFor();
    const [a, b] = [await exported(host.page, recordId), await exported(desk.page, recordId)];
    expect(rootOfEvents(b.events)).toBe(rootOfEvents(a.events));
    expect(a.events.filter(({ kind }) => kind === 'sign')).toHaveLength(1);
  });

  test('sharing is turned off in the settings, and then a pass is asked for again', async () => {
    const { page } = await device();
    await turnOn(page, sites[0]!.url, department);
    await go(page, 'settings');
    await button(page, 'Turn sharing off').click();
    await page.getByText('Sharing is off.', { exact: false }).waitFor();
    await page.getByLabel('Pass', { exact: true }).waitFor();
  });
});
