import { spawnSync } from 'node:child_process';
import { chmodSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type BrowserContext, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { verifyRecord } from '../../src/core/log/chain.ts';
import { rootOf } from '../../src/core/log/lanes.ts';
import { binary, Department } from '../shared/department.ts';
import { ensureBrowser, findProgram } from '../tools.ts';
import { button, typeCallOut } from './live-steps.ts';
import { serveShared } from './shared-server.ts';
import { beginShared, exported, go, letIn } from './shared-steps.ts';

/** Namespaces need an administrator's rights and `ip`; where they are not there, the story is skipped and counted. */
const mayMake = (() => {
  if (!findProgram('ip') || process.getuid?.() !== 0) return false;
  const name = `ut${process.pid}x`;
  const made = spawnSync('ip', ['netns', 'add', name]).status === 0;
  if (made) spawnSync('ip', ['netns', 'del', name]);
  return made;
})();

const TAG = `ut${process.pid % 10_000}`;
const NET = `10.${64 + (process.pid % 60)}.7`;
const ip = (...args: string[]) => {
  const { status, stderr } = spawnSync('ip', args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(`ip ${args.join(' ')}: ${stderr}`);
};

/** A room's network on this machine: a bridge, and a namespace with a wire to it for each device. */
const ROOM = {
  make(count: number): void {
    ip('link', 'add', `${TAG}b`, 'type', 'bridge');
    ip('addr', 'add', `${NET}.1/24`, 'dev', `${TAG}b`);
    ip('link', 'set', `${TAG}b`, 'up');
    for (let n = 0; n < count; n++) {
      ip('netns', 'add', `${TAG}n${n}`);
      ip('link', 'add', `${TAG}v${n}`, 'type', 'veth', 'peer', 'name', 'eth0', 'netns', `${TAG}n${n}`);
      ip('link', 'set', `${TAG}v${n}`, 'master', `${TAG}b`, 'up');
      const within = (...args: string[]) => ip('-n', `${TAG}n${n}`, ...args);
      within('addr', 'add', `${NET}.${11 + n}/24`, 'dev', 'eth0');
      within('link', 'set', 'eth0', 'up');
      within('link', 'set', 'lo', 'up');
    }
  },
  pull: (n: number) => ip('link', 'set', `${TAG}v${n}`, 'down'),
  plug: (n: number) => ip('link', 'set', `${TAG}v${n}`, 'up'),
  clear(count: number): void {
    for (let n = 0; n < count; n++) spawnSync('ip', ['netns', 'del', `${TAG}n${n}`]);
    spawnSync('ip', ['link', 'del', `${TAG}b`]);
  },
};

describe.skipIf(!binary || !mayMake)('a laptop and two phones in one room', () => {
  let department: Department;
  let site: Awaited<ReturnType<typeof serveShared>>;
  const browsers: BrowserContext[] = [];
  const folder = mkdtempSync(join(tmpdir(), 'utterlog-room-'));
  beforeAll(async () => {
    ROOM.make(3);
    department = await Department.open();
    site = await serveShared(department, { host: `${NET}.1` });
  });
  afterAll(async () => {
    await Promise.all(browsers.map((browser) => browser.close()));
    site?.stop();
    await department?.close();
    ROOM.clear(3);
    rmSync(folder, { recursive: true, force: true });
  });

  async function deviceIn(n: number, viewport: { width: number; height: number }): Promise<Page> {
    const program = join(folder, `browser-${n}`);
    writeFileSync(program, `#!/bin/sh\nexec ip netns exec ${TAG}n${n} ${ensureBrowser()} "$@"\n`);
    chmodSync(program, 0o755);
    const context = await chromium.launchPersistentContext(join(folder, `profile-${n}`), {
      executablePath: program,
      headless: true,
      viewport,
      // A certificate makes an address safe for the browser; in this room the address is named instead.
      args: [
        '--no-sandbox',
        '--disable-gpu',
        `--unsafely-treat-insecure-origin-as-secure=${site.url.slice(0, -1)}`,
      ],
    });
    browsers.push(context);
    const page = context.pages()[0]!;
    await page.goto(site.url);
    return page;
  }

  test('the network pulled twice and the server killed once: one record, the same on every device and in print', async () => {
    const laptop = await deviceIn(0, { width: 1280, height: 800 });
    const phones = [
      await deviceIn(1, { width: 390, height: 844 }),
      await deviceIn(2, { width: 390, height: 844 }),
    ];
    const recordId = await beginShared(laptop, site.url, department);
    for (const phone of phones) await letIn(laptop, phone);
    await go(laptop, `helper/${recordId}`);
    const all = [laptop, ...phones];
    let count = 0;
    const everybodyWrites = async (rounds: number) => {
      for (let n = 0; n < rounds; n++)
        for (const page of all) await typeCallOut(page, `note item ${count++}`);
    };
    await everybodyWrites(2);
    // A phone leaves the room's Wi-Fi.
    ROOM.pull(1);
    await everybodyWrites(3);
    await phones[0]!.getByRole('link', { name: /not sent/ }).waitFor();
    ROOM.plug(1);
    await everybodyWrites(1);
    // The server loses its power.
    await department.killLog();
    await everybodyWrites(2);
    department.startLog();
    await everybodyWrites(1);
    // The laptop and the other phone lose the network, each by itself.
    ROOM.pull(0);
    ROOM.pull(2);
    await everybodyWrites(3);
    ROOM.plug(0);
    ROOM.plug(2);
    for (const page of all) {
      await page.getByRole('link', { name: 'Shared: 3' }).waitFor({ timeout: 40_000 });
      await expect
        .poll(() => page.locator('.helper .log').innerText(), { timeout: 40_000 })
        .toContain(`item ${count - 1}`);
    }
    await typeCallOut(laptop, 'baby out');
    for (const page of all) await page.getByText('Baby delivered').first().waitFor();
    const files = await Promise.all(all.map((page) => exported(page, recordId)));
    const [first] = files;
    for (const file of files) {
      expect(file.events.map(({ hash }) => hash)).toEqual(first!.events.map(({ hash }) => hash));
      expect(verifyRecord(file)).toEqual({ kind: 'intact' });
      expect(file.spans).toEqual(first!.spans);
    }
    const items = first!.events.flatMap((event) =>
      event.kind === 'entry' && event.entry.text ? [event.entry.text] : [],
    );
    expect([...items].sort()).toEqual(Array.from({ length: count }, (_, n) => `item ${n}`).sort());
    expect(new Set(first!.events.map(({ lane }) => lane)).size).toBe(3);
    // The note that each of them prints names the same head.
    const root = rootOf(first!.events);
    for (const page of all) {
      await page.getByLabel('Make the documents all the same', { exact: false }).check();
      const [download] = await Promise.all([page.waitForEvent('download'), button(page, 'Text').click()]);
      // Every line of a drill's note begins with the word.
      const paper = readFileSync(await download.path(), 'utf8')
        .replace(/\s/g, '')
        .replaceAll('PRACTICE|', '');
      expect(paper).toContain(`headofthechain${root}`);
    }
  }, 240_000);
});
