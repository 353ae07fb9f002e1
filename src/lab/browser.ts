import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Page } from 'playwright-core';
import { build } from 'vite';
import { createAppServer } from '../server/app-server.ts';
import { serveModels } from '../build/serve-models.ts';
import { serveWasm } from '../build/serve-wasm.ts';
import { writeWav, type Sound } from '../audio/wav.ts';

/** The lab's page in a real Chromium, built and served as the app is. */
export interface LabBrowser {
  page: Page;
  /** Puts a recording beside the page; its address. */
  offer(name: string, sound: Sound): string;
  /** Bytes of bodies that came over the network so far. */
  fetchedBytes(): number;
  /** Processor time of the page's process so far, s: unlike a clock, it says the same on a busy machine. */
  processorSeconds(): Promise<number>;
  /** Resident memory of the page's process, MB; null where the system does not tell. */
  residentMb(): Promise<number | null>;
  close(): Promise<void>;
}

const CHROMIUM = process.env.CHROMIUM_PATH ?? '/usr/bin/chromium';

/** `microphone`: a WAV file that a fake microphone plays once. */
export async function openLabBrowser(options: { microphone?: Sound } = {}): Promise<LabBrowser> {
  const folder = mkdtempSync(join(tmpdir(), 'speech-lab-'));
  const dist = join(folder, 'dist');
  await build({
    configFile: false,
    root: join(import.meta.dirname, '..'),
    base: './',
    publicDir: false,
    logLevel: 'error',
    plugins: [serveModels(), serveWasm()],
    worker: { format: 'es' },
    build: {
      outDir: dist,
      emptyOutDir: true,
      target: 'es2022',
      assetsInlineLimit: 0,
      rollupOptions: { input: join(import.meta.dirname, 'page.html') },
    },
  });
  // The page lies where the app's page lies, beside models/ and wasm/.
  const page = readFileSync(join(dist, 'lab/page.html'), 'utf8').replaceAll('../../', './');
  writeFileSync(join(dist, 'index.html'), page);
  const server = await createAppServer(dist);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;

  const args = ['--no-sandbox', '--disable-gpu', '--autoplay-policy=no-user-gesture-required'];
  if (options.microphone) {
    const file = join(folder, 'microphone.wav');
    writeFileSync(file, writeWav(options.microphone));
    args.push(
      '--use-fake-device-for-media-stream',
      '--use-fake-ui-for-media-stream',
      `--use-file-for-fake-audio-capture=${file}%noloop`,
    );
  }
  const browser = await chromium.launch({ executablePath: CHROMIUM, args });
  const context = await browser.newContext();
  let fetched = 0;
  context.on('requestfinished', (request) => {
    void request.sizes().then((sizes) => (fetched += sizes.responseBodySize));
  });
  const tab = await context.newPage();
  tab.on('pageerror', (error) => process.stderr.write(`Page: ${error.message}\n`));
  await tab.goto(address);

  return {
    page: tab,
    offer(name, sound) {
      writeFileSync(join(dist, name), writeWav(sound));
      return `${address}${name}`;
    },
    fetchedBytes: () => fetched,
    async processorSeconds() {
      const session = await browser.newBrowserCDPSession();
      const { processInfo } = await session.send('SystemInfo.getProcessInfo');
      await session.detach();
      return Math.max(...processInfo.filter(({ type }) => type === 'renderer').map(({ cpuTime }) => cpuTime));
    },
    async residentMb() {
      const session = await browser.newBrowserCDPSession();
      const { processInfo } = await session.send('SystemInfo.getProcessInfo');
      const sizes = processInfo
        .filter(({ type }) => type === 'renderer')
        .map(({ id }) => {
          try {
            const status = readFileSync(`/proc/${id}/status`, 'utf8');
            return Number(/VmRSS:\s+(\d+)/.exec(status)?.[1] ?? NaN) / 1024;
          } catch {
            return NaN;
          }
        })
        .filter((size) => !Number.isNaN(size));
      await session.detach();
      return sizes.length > 0 ? Math.max(...sizes) : null;
    },
    async close() {
      await browser.close();
      server.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
