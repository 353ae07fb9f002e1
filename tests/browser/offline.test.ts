import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Manifest } from '../../src/asr/model-files.ts';
import { createAppServer } from '../../src/server/app-server.ts';
import { buildServiceWorker } from '../../src/build/service-worker-plugin.ts';
import { openApp, type OpenApp } from './harness.ts';

const DIST = process.env['UTTERLOG_DIST'] ?? join(import.meta.dirname, '../../dist');
const MANIFEST = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../models/manifest.json'), 'utf8'),
) as Manifest;
const MODEL = `models/${MANIFEST.files.find(({ path }) => path.endsWith('.onnx'))!.path}`;

let folder: string;
let server: Server;
let url: string;
let app: OpenApp | undefined;

async function listen(port = 0): Promise<void> {
  server = await createAppServer(folder);
  await new Promise<void>((done) => server.listen(port, '127.0.0.1', done));
  url = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;
}

async function unplug(): Promise<void> {
  server.closeAllConnections();
  await new Promise((done) => server.close(done));
}

const open = async (profile?: string) => (app = await openApp({ url, stop: () => {} }, { profile }));

/** Waits until the service worker has kept what is asked for: the app itself, or the model too. */
async function kept(what: 'app' | 'all'): Promise<void> {
  await app!.page.evaluate(async (all) => {
    await navigator.serviceWorker.ready;
    const answered = new Promise<void>((done, fail) => {
      navigator.serviceWorker.addEventListener('message', ({ data }) => {
        if (data.kind === 'not-kept') fail(new Error(data.why));
        if (data.kind === 'offline-state' && (!all || data.keptBytes === data.totalBytes)) done();
      });
    });
    const worker = (await navigator.serviceWorker.ready).active!;
    worker.postMessage({ kind: all ? 'keep-all' : 'state' });
    if (all) worker.postMessage({ kind: 'state' });
    await answered;
  }, what === 'all');
}

const hashOf = (path: string) =>
  app!.page.evaluate(async (wanted) => {
    const answer = await fetch(wanted);
    const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', await answer.arrayBuffer()));
    return {
      status: answer.status,
      hash: [...hash].map((byte) => byte.toString(16).padStart(2, '0')).join(''),
    };
  }, path);

const titleOf = () => app!.page.evaluate(() => document.documentElement.dataset['release'] ?? 'first');

/** A new version: the same app with a mark on its page, and the list of its files built again. */
async function release(mark: string): Promise<void> {
  cpSync(join(DIST, 'index.html'), join(folder, 'index.html'));
  const page = join(folder, 'index.html');
  const text = readFileSync(page, 'utf8');
  writeFileSync(page, text.replace('<html ', `<html data-release="${mark}" `));
  await buildServiceWorker(folder);
}

beforeEach(async () => {
  expect(existsSync(join(DIST, 'service-worker.js')), 'the build comes first').toBe(true);
  folder = mkdtempSync(join(tmpdir(), 'utterlog-offline-'));
  cpSync(DIST, folder, { recursive: true });
  await listen();
});

afterEach(async () => {
  await app?.close();
  app = undefined;
  await unplug();
  rmSync(folder, { recursive: true });
});

test('after one visit the app and its model start without a network, after a restart of the browser too', async () => {
  await open();
  await kept('all');
  const before = await hashOf(MODEL);
  await unplug();
  await app!.page.reload();
  await app!.page.getByRole('main').waitFor();
  expect(await hashOf(MODEL)).toEqual(before);
  const { profile } = app!;
  await app!.close(false);
  await open(profile);
  await app!.page.getByRole('main').waitFor();
  expect(await hashOf(MODEL)).toEqual(before);
  expect(app!.foreign).toEqual([]);
  await listen(Number(new URL(url).port));
});

test('an altered model file is never kept; the right one is, once it is there', async () => {
  appendFileSync(join(folder, MODEL), 'x');
  await open();
  await kept('app');
  await expect(kept('all')).rejects.toThrow(/not the released file/);
  const altered = await hashOf(MODEL);
  cpSync(join(DIST, MODEL), join(folder, MODEL));
  const right = await hashOf(MODEL);
  expect(right.hash).not.toBe(altered.hash);
  await kept('all');
  await unplug();
  expect(await hashOf(MODEL)).toEqual(right);
  await listen(Number(new URL(url).port));
});

test('an update waits through reloads and a restart, is refused while a record runs, and comes when asked for', async () => {
  await open();
  await kept('app');
  await release('second');
  const check = () =>
    app!.page.evaluate(async () => {
      const registration = await navigator.serviceWorker.ready;
      const told = new Promise<void>((done) => {
        navigator.serviceWorker.addEventListener('message', ({ data }) => {
          if (data.kind === 'offline-state' && data.updateReady) done();
        });
      });
      await registration.update();
      // Not asked before it serves: a new worker comes in only while the one before it has nothing to answer.
      const next = registration.installing ?? registration.waiting;
      await new Promise<void>((done) => {
        if (!next || next.state === 'activated') return done();
        next.addEventListener('statechange', () => next.state === 'activated' && done());
      });
      registration.active!.postMessage({ kind: 'state' });
      await told;
    });
  await check();
  expect(await titleOf()).toBe('first');
  await app!.page.reload();
  expect(await titleOf()).toBe('first');
  const { profile } = app!;
  await app!.close(false);
  await open(profile);
  await check();
  expect(await titleOf()).toBe('first');

  const answer = await app!.page.evaluate(
    () =>
      new Promise<string>((done) => {
        void navigator.locks.request('utterlog running record', { mode: 'shared' }, () => {
          navigator.serviceWorker.addEventListener('message', ({ data }) => {
            if (/^update/.test(data.kind)) done(data.kind);
          });
          navigator.serviceWorker.controller!.postMessage({ kind: 'apply-update' });
          return new Promise<void>((release) => setTimeout(release, 1_500));
        });
      }),
  );
  expect(answer).toBe('update-refused');
  expect(await titleOf()).toBe('first');

  await app!.page.waitForTimeout(1_600);
  const reloaded = app!.page.waitForEvent('load');
  await app!.page.evaluate(() => navigator.serviceWorker.controller!.postMessage({ kind: 'apply-update' }));
  await reloaded;
  expect(await titleOf()).toBe('second');
  await unplug();
  await app!.page.reload();
  expect(await titleOf()).toBe('second');
  await listen(Number(new URL(url).port));
});

test('the app can be installed: manifest and icons as Chromium wants them', async () => {
  await open();
  const session = await app!.context.newCDPSession(app!.page);
  const { errors } = await session.send('Page.getAppManifest');
  expect(errors).toEqual([]);
  const { installabilityErrors } = await session.send('Page.getInstallabilityErrors');
  // A browser started with a profile of its own, as tests do, counts as private only in incognito mode.
  expect(installabilityErrors.map(({ errorId }) => errorId)).toEqual([]);
});
