import { spawn, type ChildProcess } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { ensureBrowser } from '../tools.ts';

const FLAGS = [
  '--headless=new',
  '--no-sandbox',
  '--disable-gpu',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--hide-crash-restore-bubble',
  '--window-size=1600,900',
  '--remote-debugging-port=0',
];

export interface LaunchOptions {
  args?: string[];
  /** Content settings of the profile, e.g. `{ cookies: 2 }`: what a person or an administrator blocks. */
  contentSettings?: Record<string, number>;
  /** IANA time zone of the device. */
  timeZone?: string;
}

/** Process groups outlive this program unless they are ended with it. */
const running = new Set<number>();
process.once('exit', () => {
  for (const group of running) process.kill(-group, 'SIGKILL');
});
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => process.exit(1));

/** A Chromium in its own process group, so that it can be killed as a whole, at any moment, like a power cut. */
export class KillableBrowser {
  readonly profile: string;
  #process: ChildProcess | undefined;
  #browser: Browser | undefined;

  constructor(profile = mkdtempSync(join(tmpdir(), 'utterlog-faults-'))) {
    this.profile = profile;
  }

  async launch(options: LaunchOptions = {}): Promise<BrowserContext> {
    if (options.contentSettings) {
      mkdirSync(join(this.profile, 'Default'), { recursive: true });
      const profile = { default_content_setting_values: options.contentSettings };
      writeFileSync(join(this.profile, 'Default/Preferences'), JSON.stringify({ profile }));
    }
    rmSync(join(this.profile, 'SingletonLock'), { force: true });
    const args = [...FLAGS, ...(options.args ?? []), `--user-data-dir=${this.profile}`, 'about:blank'];
    const child = spawn(ensureBrowser(), args, {
      detached: true,
      stdio: ['ignore', 'ignore', 'pipe'],
      env: { ...process.env, ...(options.timeZone ? { TZ: options.timeZone } : {}) },
    });
    this.#process = child;
    running.add(child.pid!);
    child.once('exit', () => running.delete(child.pid!));
    const address = await new Promise<string>((found, fail) => {
      let text = '';
      child.stderr!.on('data', (piece: Buffer) => {
        text += piece.toString();
        const match = /DevTools listening on (ws:\S+)/.exec(text);
        if (match) found(match[1]!);
      });
      child.once('exit', (code) => fail(new Error(`Chromium ended with code ${code}: ${text.slice(-500)}`)));
    });
    this.#browser = await chromium.connectOverCDP(address);
    return this.#browser.contexts()[0]!;
  }

  /** SIGKILL to the browser and all its processes at once: nothing gets a chance to write. */
  async kill(): Promise<void> {
    const child = this.#process;
    if (!child?.pid || child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((done) => child.once('exit', done));
    process.kill(-child.pid, 'SIGKILL');
    await ended;
    await this.#browser?.close().catch(() => {});
  }

  /** Stops every process without ending it, so that the files can be copied as they stand. */
  freeze(): void {
    process.kill(-this.#process!.pid!, 'SIGSTOP');
  }

  async forget(): Promise<void> {
    await this.kill();
    rmSync(this.profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
  }

  /** Where Chromium keeps the page's databases. */
  databaseFolder(): string {
    return join(this.profile, 'Default/IndexedDB');
  }
}

export const firstPage = async (context: BrowserContext): Promise<Page> =>
  context.pages()[0] ?? (await context.newPage());
