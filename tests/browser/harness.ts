import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type BrowserContext, chromium, type Page } from 'playwright-core';
import { ensureBrowser } from '../tools.ts';

const ROOT = join(import.meta.dirname, '../..');

/** Chromium off a closed network: nothing of the browser's own may go out and be mistaken for ours. */
const QUIET = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

async function freePort(): Promise<number> {
  return new Promise((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address() as { port: number };
      server.close(() => resolve(port));
    });
  });
}

export interface AppServer {
  url: string;
  stop: () => void;
}

/** Serves dist/ with the project's own server on a free port. `env`: what it is started with besides. */
export async function startServer(env: Record<string, string> = {}): Promise<AppServer> {
  const port = await freePort();
  const child: ChildProcess = spawn(
    process.execPath,
    ['--import', 'tsx', 'src/server/serve.ts', '--as-built'],
    {
      cwd: ROOT,
      env: { ...process.env, ...env, PORT: String(port) },
      stdio: ['ignore', 'pipe', 'inherit'],
    },
  );
  await new Promise<void>((resolve, reject) => {
    child.stdout!.once('data', () => resolve());
    child.once('exit', (code) => reject(new Error(`The server stopped with code ${code}.`)));
  });
  return { url: `http://127.0.0.1:${port}/`, stop: () => child.kill() };
}

export interface OpenApp {
  context: BrowserContext;
  page: Page;
  /** Requests that went to another origin: must stay empty. */
  foreign: string[];
  /** Errors of the page's console and uncaught exceptions. */
  errors: string[];
  profile: string;
  /** Closes the browser; the profile stays unless `forget` is true. */
  close: (forget?: boolean) => Promise<void>;
}

export interface OpenOptions {
  /** Path after the server's address, such as `#/records`. */
  path?: string;
  /** WAV file that the fake microphone plays once. */
  microphoneWav?: string;
  /** Profile folder of an earlier browser, to go on with its stored data. */
  profile?: string;
  viewport?: { width: number; height: number };
  args?: string[];
  /** Content settings of a new profile, e.g. `{ cookies: 2 }`: what a person or an administrator blocks. */
  contentSettings?: Record<string, number>;
  /** Runs in every page before the app does. */
  before?: () => void;
}

/** Opens the app in a real browser with its own profile. */
export async function openApp(server: AppServer, options: OpenOptions = {}): Promise<OpenApp> {
  const profile = options.profile ?? mkdtempSync(join(tmpdir(), 'utterlog-profile-'));
  const args = [...QUIET, ...(options.args ?? [])];
  if (options.contentSettings) {
    mkdirSync(join(profile, 'Default'), { recursive: true });
    const settings = { profile: { default_content_setting_values: options.contentSettings } };
    writeFileSync(join(profile, 'Default/Preferences'), JSON.stringify(settings));
  }
  if (options.microphoneWav) {
    args.push(
      '--use-fake-device-for-media-stream',
      '--use-fake-ui-for-media-stream',
      `--use-file-for-fake-audio-capture=${options.microphoneWav}%noloop`,
    );
  }
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: ensureBrowser(),
    headless: true,
    args,
    viewport: options.viewport ?? { width: 1280, height: 800 },
    permissions: options.microphoneWav ? ['microphone'] : [],
  });
  if (options.before) await context.addInitScript(options.before);
  const foreign: string[] = [];
  const errors: string[] = [];
  const origin = new URL(server.url).origin;
  context.on('request', (request) => {
    const url = request.url();
    if (!url.startsWith(origin) && !/^(data|blob|about|chrome):/.test(url)) foreign.push(url);
  });
  context.on('page', (page) => watchErrors(page, errors));
  const page = context.pages()[0] ?? (await context.newPage());
  watchErrors(page, errors);
  await page.goto(server.url + (options.path ?? ''));
  return {
    context,
    page,
    foreign,
    errors,
    profile,
    close: async (forget = true) => {
      await context.close();
      if (forget) rmSync(profile, { recursive: true, force: true });
    },
  };
}

function watchErrors(page: Page, errors: string[]): void {
  page.on('pageerror', (error) => errors.push(String(error)));
  page.on('console', (message) => {
    if (message.type() === 'error') errors.push(message.text());
  });
}
