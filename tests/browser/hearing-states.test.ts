import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { readWav, writeWav } from '../../src/audio/wav.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import messages from '../../src/ui/messages/en.json';
import { axeProblems } from './axe.ts';
import { type AppServer, openApp, type OpenApp, type OpenOptions, startServer } from './harness.ts';
import { beginRecord, button, touch } from './live-steps.ts';
import { storedRecords } from './stored-records.ts';

/**
 * What can be wrong with a microphone or the device, each in a real browser: its sentence stands there, and
 * logging by touch works. "In use by another program" and "unplugged" cannot be brought about without hardware:
 * there the browser's own call is made to answer as the standard says that it does.
 */
const FAKE = ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'];
const DRILL = join(import.meta.dirname, '../../static/practice/posterior-arm.wav');

let server: AppServer;
let app: OpenApp | undefined;
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'utterlog-sound-'));
  server = await startServer();
});
afterEach(async () => {
  await app?.close();
  app = undefined;
});
afterAll(() => {
  server.stop();
  rmSync(folder, { recursive: true });
});

const open = async (options: OpenOptions): Promise<Page> => (app = await openApp(server, options)).page;
const alertWith = (page: Page, words: string) =>
  page.getByRole('alert').filter({ hasText: words }).first().waitFor({ timeout: 40_000 });

async function logsByTouch(page: Page): Promise<void> {
  if (!(await button(page, 'Birth').isVisible())) await button(page, 'Helper’s pad').click();
  await touch(page, 'Birth', 'head-delivered');
  await page.locator('[data-entry]', { hasText: 'Head delivered' }).waitFor();
}

const { microphone, signal } = messages.live;
const CASES: [string, string, OpenOptions][] = [
  [
    'the permission is refused',
    microphone['no-permission'],
    { args: ['--use-fake-device-for-media-stream'] },
  ],
  ['there is no microphone', microphone['no-microphone'], { args: ['--use-fake-ui-for-media-stream'] }],
  [
    'another program has the microphone',
    microphone.busy,
    {
      args: FAKE,
      before: () => {
        navigator.mediaDevices.getUserMedia = () =>
          Promise.reject(new DOMException('Could not start audio source', 'NotReadableError'));
      },
    },
  ],
];

describe('a microphone that cannot be had', () => {
  test.each(CASES)(
    '%s: the start and the live screen say so, and touch logs',
    async (_, sentence, options) => {
      const page = await open(options);
      const check = button(page, 'Check the microphone');
      await check.or(button(page, 'Check again')).first().click();
      await page.locator('[data-state=bad]', { hasText: sentence }).waitFor();
      expect(await axeProblems(page)).toEqual([]);
      await beginRecord(page, 'practice');
      await alertWith(page, `${sentence} ${microphone.byTouch}`);
      expect(await button(page, 'Birth').isVisible()).toBe(true);
      await logsByTouch(page);
      expect(await axeProblems(page)).toEqual([]);
    },
  );

  test('one that is pulled out is missed at once, and used again when it is back', async () => {
    const page = await open({
      args: FAKE,
      before: () => {
        const { mediaDevices } = navigator;
        const real = mediaDevices.getUserMedia.bind(mediaDevices);
        const streams: MediaStream[] = [];
        let out = false;
        mediaDevices.getUserMedia = async (wishes) => {
          if (out) throw new DOMException('Requested device not found', 'NotFoundError');
          const stream = await real(wishes);
          streams.push(stream);
          return stream;
        };
        Object.assign(window, {
          plug: (pulled: boolean) => {
            out = pulled;
            for (const track of pulled ? streams.flatMap((stream) => stream.getTracks()) : []) {
              track.stop();
              track.dispatchEvent(new Event('ended'));
            }
            mediaDevices.dispatchEvent(new Event('devicechange'));
          },
        });
      },
    });
    const plug = (pulled: boolean) =>
      page.evaluate((value) => (window as unknown as { plug: (out: boolean) => void }).plug(value), pulled);
    await beginRecord(page, 'practice');
    await page.getByText('Listening', { exact: true }).waitFor({ timeout: 60_000 });
    await plug(true);
    await page
      .getByRole('alert')
      .filter({ hasText: new RegExp(`${microphone.unplugged}|${microphone['no-microphone']}`) })
      .waitFor();
    await logsByTouch(page);
    await plug(false);
    await page.getByText('Listening', { exact: true }).waitFor();
    const [file] = await storedRecords(page);
    const states = file!.events.flatMap((event) => (event.kind === 'speech-state' ? [event.state] : []));
    expect(states.slice(-3)).toEqual(['listening', 'unavailable', 'listening']);
  });

  test('one that is muted gives no sound: the warning says so, and touch logs', async () => {
    const wav = join(folder, 'nothing.wav');
    writeFileSync(wav, writeWav({ sampleRate: 16_000, samples: new Float32Array(16_000 * 30) }));
    const page = await open({ microphoneWav: wav });
    await beginRecord(page, 'practice');
    await alertWith(page, signal['no-signal']);
    await logsByTouch(page);
  });
});

test('where the browser blocks storage the start says so before anything is begun', async () => {
  const page = await open({ contentSettings: { cookies: 2 } });
  await page.locator('[data-state=bad]', { hasText: messages.start.storage['storage-blocked'] }).waitFor();
  expect(await axeProblems(page)).toEqual([]);
});

/**
 * The voice is a stand-in, since a browser without a desktop has none: it "speaks" for eight seconds. What it
 * would be heard saying comes in by the (fake) microphone, from a recording; so the whole path from the microphone
 * to the log is under test. The same words come again after it fell silent: then they are heard.
 */
test('what the microphone hears while the app speaks is no call-out', async () => {
  const { sampleRate, samples } = readWav(readFileSync(DRILL));
  const cut = (fromMs: number, lengthMs: number) =>
    samples.slice((fromMs * sampleRate) / 1000, ((fromMs + lengthMs) * sampleRate) / 1000);
  const declared = cut(16_000, 2_800);
  const script: [number, Float32Array][] = [
    [3_000, cut(5_800, 2_500)],
    [8_500, declared],
    [18_000, declared],
  ];
  const scene = new Float32Array(24 * sampleRate);
  for (const [atMs, part] of script) scene.set(part, (atMs * sampleRate) / 1000);
  const wav = join(folder, 'read-back.wav');
  writeFileSync(wav, writeWav({ sampleRate, samples: scene }));

  const page = await open({
    microphoneWav: wav,
    path: '#/settings',
    before: () => {
      const voice = { localService: true, lang: 'en-GB', name: 'stand-in' };
      const said: string[] = [];
      const speechSynthesis = {
        getVoices: () => [voice],
        cancel: () => {},
        speak: (utterance: { text: string; onend: () => void }) => {
          said.push(utterance.text);
          setTimeout(() => utterance.onend(), 8_000);
        },
      };
      Object.defineProperty(window, 'speechSynthesis', { value: speechSynthesis });
      Object.assign(window, {
        said,
        SpeechSynthesisUtterance: class {
          constructor(public text: string) {}
        },
      });
    },
  });
  await page.getByText(messages.settings.sounds.readBack).click();
  await page.goto(server.url);
  await page.getByText(messages.start.model.ready).waitFor({ timeout: 60_000 });
  await beginRecord(page, 'practice');
  await page.getByText(messages.live.hearing.ignoring).waitFor({ timeout: 30_000 });
  await expect
    .poll(async () => (await storedRecords(page))[0]!.events.filter(({ kind }) => kind === 'entry').length, {
      timeout: 40_000,
    })
    .toBeGreaterThan(1);
  await page.waitForTimeout(2_000);
  const view = foldRecord((await storedRecords(page))[0]!);
  expect(view.entries.map(({ entry }) => entry.code)).toEqual(['head-delivered', 'dystocia-declared']);
  const [head, dystocia] = view.entries.map(({ atMs }) => atMs);
  expect(Math.abs(dystocia! - head! - 15_000), 'the second time it was said').toBeLessThan(1_000);
  expect(view.utterances).toHaveLength(2);
  const said = await page.evaluate(() => (window as unknown as { said: string[] }).said);
  expect(said[0]).toContain('Head delivered');
});
