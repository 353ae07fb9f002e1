import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { readWav, writeWav } from '../../src/audio/wav.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import messages from '../../src/ui/messages/en.json';
import { axeProblems } from './axe.ts';
import { type AppServer, openApp, type OpenApp, startServer } from './harness.ts';
import { button, typeCallOut } from './live-steps.ts';
import { smallTargets, sidewaysPx, SIZES } from './screen-checks.ts';
import { storedRecords } from './stored-records.ts';

/** Standby in a real browser: a drill's recording at the microphone, and what can go wrong meanwhile. */
const DRILL = join(import.meta.dirname, '../../static/practice/posterior-arm.wav');
const says = messages.standby;

/** Parts of the drill that the microphone plays after a quiet beginning, s. */
const BIRTH = [
  { fromS: 26, toS: 29 },
  { fromS: 4, toS: 26 },
];

const ORDINARY = [
  { fromS: 5.5, toS: 8.5 },
  { fromS: 84.5, toS: 88 },
];

let server: AppServer;
let app: OpenApp | undefined;
let folder: string;
beforeAll(async () => {
  server = await startServer();
  folder = mkdtempSync(join(tmpdir(), 'utterlog-standby-'));
});

/** A file for the invented microphone: quiet, then these parts of the drill with quiet after each. */
function soundOf(parts: { fromS: number; toS: number }[]): string {
  const { sampleRate, samples } = readWav(readFileSync(DRILL));
  const quiet = new Float32Array(4 * sampleRate);
  const cut = parts.flatMap(({ fromS, toS }) => [
    samples.subarray(fromS * sampleRate, toS * sampleRate),
    quiet,
  ]);
  const all = [quiet, quiet, ...cut];
  const joined = new Float32Array(all.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of all) {
    joined.set(part, at);
    at += part.length;
  }
  const file = join(folder, `${parts[0]!.fromS}.wav`);
  writeFileSync(file, writeWav({ sampleRate, samples: joined }));
  return file;
}
afterEach(async () => {
  await app?.close();
  app = undefined;
});
afterAll(() => {
  server.stop();
  rmSync(folder, { recursive: true });
});

const alertWith = (page: Page, words: string) =>
  page.getByRole('alert').filter({ hasText: words }).first().waitFor({ timeout: 20_000 });
const newest = async (page: Page) => {
  const [file] = await storedRecords(page);
  return { file: file!, view: foldRecord(file!) };
};

describe('standby', () => {
  test('one touch on the start screen; a spoken head begins a record that holds what was said before, with its times', async () => {
    app = await openApp(server, { microphoneWav: soundOf(BIRTH) });
    const { page } = app;
    await page.getByText('Ready. Speech is recognised on this device.').waitFor({ timeout: 60_000 });
    await button(page, says.start).click();
    await page.getByText(says.listening).waitFor({ timeout: 60_000 });
    expect(await storedRecords(page)).toHaveLength(0);
    expect(await page.locator('.strip').count()).toBe(0);
    expect(await axeProblems(page)).toEqual([]);
    for (const size of SIZES) {
      await page.setViewportSize(size);
      expect(await sidewaysPx(page)).toBeLessThanOrEqual(0);
      expect(await smallTargets(page)).toEqual([]);
    }
    await page.waitForURL(/#\/live\//, { timeout: 60_000 });
    await expect
      .poll(async () => (await newest(page)).view.entries.length, { timeout: 60_000 })
      .toBeGreaterThanOrEqual(4);
    const { view } = await newest(page);
    expect(view.mode).toBe('real');
    expect(view.standby).toMatchObject({ by: 'voice' });
    const head = view.entries.find(({ entry }) => entry.code === 'head-delivered')!;
    const heard = (id?: string) => view.utterances.find(({ utteranceId }) => utteranceId === id)!;
    expect(heard(head.utteranceId).inStandby).toBe(true);
    const before = view.entries.find(({ entry }) => entry.code === 'mcroberts')!;
    expect(heard(before.utteranceId).inStandby).toBe(true);
    expect(before.atMs).toBeLessThan(head.atMs - 3000);
    expect(head.madeAtMs).toBeGreaterThan(head.atMs);
    expect(view.utterances.some(({ inStandby }) => !inStandby)).toBe(true);
    expect(view.utterances.every(({ onsetMs }) => onsetMs >= 0)).toBe(true);
    expect(app.errors).toEqual([]);
  }, 180_000);

  test('a touch begins it; without a microphone it says that no voice does', async () => {
    app = await openApp(server, { args: ['--use-fake-ui-for-media-stream'] });
    const { page } = app;
    await button(page, says.start).click();
    await page.getByText(says.deafHow).waitFor();
    await alertWith(page, messages.live.microphone['no-microphone']);
    await button(page, says.begin).click();
    await page.waitForURL(/#\/live\//);
    await expect.poll(async () => (await newest(page)).view.standby?.by).toBe('touch');
    await typeCallOut(page, 'head delivered');
    await page.locator('[data-entry]', { hasText: 'Head delivered' }).waitFor();
  });

  test('the unit’s setting stands by when the app is opened, once', async () => {
    app = await openApp(server, { path: '#/settings', args: ['--use-fake-ui-for-media-stream'] });
    const { page } = app;
    await page.getByLabel(messages.settings.standby.atStart).check();
    await page.waitForTimeout(300);
    await page.goto('about:blank');
    await page.goto(server.url);
    await page.waitForURL(/#\/standby\/real/, { timeout: 10_000 });
    await page.getByRole('link', { name: says.end }).click();
    await button(page, says.start).waitFor();
    expect(page.url()).not.toContain('standby');
  });
});

describe('what is said of faults', () => {
  test('two windows, a record elsewhere, a low battery', async () => {
    app = await openApp(server, {
      args: ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
      before: () => {
        const battery = Object.assign(new EventTarget(), { level: 0.1, charging: false });
        Object.assign(navigator, { getBattery: async () => battery });
      },
    });
    const { page, context } = app;
    await button(page, says.start).click();
    await page.locator('[data-standby=standing-by]').waitFor();
    await alertWith(page, 'Battery 10 %');
    const second = await context.newPage();
    await second.goto(`${server.url}#/standby/real`);
    await second.getByText(says.elsewhere).waitFor();
    await second.goto(`${server.url}#/`);
    await second.getByRole('radio', { name: /^Practice/ }).check();
    await button(second, 'Begin practice').click();
    await second.waitForURL(/#\/live\//);
    await page.bringToFront();
    await alertWith(page, says.recordElsewhere.slice(0, 40));
    await second.close();
  });

  test('a microphone that is pulled out, and one that is back', async () => {
    app = await openApp(server, {
      args: ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
      before: () => {
        const { mediaDevices } = navigator;
        const real = mediaDevices.getUserMedia.bind(mediaDevices);
        const streams: MediaStream[] = [];
        let out = false;
        mediaDevices.getUserMedia = async (wishes) => {
          if (out) throw new DOMException('none', 'NotFoundError');
          const stream = await real(wishes);
          streams.push(stream);
          return stream;
        };
        Object.assign(window, {
          pull: () => {
            out = true;
            for (const track of streams.at(-1)!.getAudioTracks()) track.dispatchEvent(new Event('ended'));
          },
          plug: () => {
            out = false;
            mediaDevices.dispatchEvent(new Event('devicechange'));
          },
        });
      },
    });
    const { page } = app;
    await button(page, says.start).click();
    await page.getByText(says.listening).waitFor({ timeout: 60_000 });
    await page.evaluate('pull()');
    await page.getByText(says.deafHow).waitFor();
    await page.evaluate('plug()');
    await page.getByText(says.listening).waitFor();
  }, 120_000);
});

test('an ordinary birth is asked about, put away sealed by one touch, and fetched back', async () => {
  app = await openApp(server, { microphoneWav: soundOf(ORDINARY) });
  const { page } = app;
  await page.getByText('Ready. Speech is recognised on this device.').waitFor({ timeout: 60_000 });
  await button(page, says.start).click();
  await alertWith(page, says.ordinary);
  const { file } = await newest(page);
  await button(page, says.notKeep).click();
  await page.getByText('was not kept. It lies sealed', { exact: false }).waitFor();
  expect(await storedRecords(page)).toHaveLength(0);
  await button(page, says.fetchBack).click();
  await button(page, 'Go on with it').waitFor();
  const back = await newest(page);
  expect(back.file.events.slice(0, file.events.length)).toEqual(file.events);
}, 120_000);
