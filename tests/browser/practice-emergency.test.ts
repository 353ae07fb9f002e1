import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Entry } from '../../src/core/entry.ts';
import { deriveFacts } from '../../src/core/facts/derive.ts';
import { verifyChain } from '../../src/core/log/chain.ts';
import type { RecordFile } from '../../src/core/log/events.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import type { RecordView } from '../../src/core/log/view.ts';
import { PRACTICE_EMERGENCY } from '../../src/packs/scenarios.ts';
import { type AppServer, openApp, startServer } from './harness.ts';
import { storedRecords } from './stored-records.ts';

/**
 * The main job in a real browser: the bundled practice emergency is spoken into a (fake) microphone. What must
 * come of it is the scenario's script, written before anything was recorded (src/packs/shoulder-dystocia/scenarios).
 */
const ROOT = join(import.meta.dirname, '../..');
const WAV = join(ROOT, 'static/practice/posterior-arm.wav');
const SPOKEN = PRACTICE_EMERGENCY.lines.filter((line) => (line.says ?? []).length > 0);
/** Onset errors that are allowed, ms. Head to body rests on two onsets. */
const ONSET_MS = 500;

let server: AppServer;
beforeAll(async () => (server = await startServer()));
afterAll(() => server.stop());

async function beginPractice(page: Page): Promise<void> {
  await page.getByText('Speech model', { exact: true }).waitFor();
  await page.getByRole('radio', { name: /^Practice/ }).check();
  await page.getByRole('button', { name: 'Begin practice' }).click();
  await page.waitForURL(/#\/live\//);
}

async function newest(page: Page): Promise<{ file: RecordFile; view: RecordView }> {
  const [file] = await storedRecords(page);
  return { file: file!, view: foldRecord(file!) };
}

/** Waits until the kept record holds this code, and gives what is kept then. */
async function until(page: Page, code: string, timeoutMs: number): Promise<RecordView> {
  const begun = Date.now();
  for (;;) {
    const { view } = await newest(page);
    if (view.entries.some(({ entry }) => entry.code === code)) return view;
    if (Date.now() - begun > timeoutMs) {
      const heard = view.utterances.map((utterance) => `${utterance.outcome}: ${utterance.heard}`);
      throw new Error(`No ${code} after ${timeoutMs} ms. Heard so far:\n${heard.join('\n')}`);
    }
    await page.waitForTimeout(1000);
  }
}

const codes = (view: RecordView): string[] => view.entries.map(({ entry }) => entry.code);

describe('the practice emergency, spoken into the microphone', () => {
  let view: RecordView;
  let file: RecordFile;
  let foreign: string[];
  let errors: string[];
  let profile: string;

  beforeAll(async () => {
    const app = await openApp(server, { microphoneWav: WAV });
    await beginPractice(app.page);
    await until(app.page, 'apgar', 240_000);
    ({ file, view } = await newest(app.page));
    ({ foreign, errors, profile } = app);
    await app.close(false);
  }, 300_000);
  afterAll(() => rmSync(profile, { recursive: true, force: true }));

  test('gives the entries of the script, in its order', () => {
    const expected = PRACTICE_EMERGENCY.truth.map(({ entry }) => entry.code);
    expect(codes(view)).toEqual(expected);
  });

  test('gives every slot as it was said', () => {
    const wrong = view.entries.flatMap(({ entry }, at) => {
      // A bare name has no phase: that an act began is in the script, not in the words.
      const { phase: _phase, ...truth } = PRACTICE_EMERGENCY.truth[at]!.entry as Entry;
      const { phase: _said, spoken: _spoken, ...said } = entry;
      return JSON.stringify(truth) === JSON.stringify(said) ? [] : [{ truth, said }];
    });
    expect(wrong).toEqual([]);
  });

  test('times each entry at the onset of its speech, to half a second', () => {
    // The recording starts when the browser opens the device: the first call-out ties the two clocks.
    const shift = view.entries[0]!.atMs - SPOKEN[0]!.atMs;
    const late = view.entries.map(({ atMs }, at) => Math.round(atMs - shift - SPOKEN[at]!.atMs));
    expect(Math.max(...late.map(Math.abs)), `errors in ms: ${late.join(' ')}`).toBeLessThan(ONSET_MS);
  });

  test('works out head to body from the two call-outs', () => {
    const said = (code: string) =>
      SPOKEN.find((line) =>
        line.says!.some(
          (id) => PRACTICE_EMERGENCY.truth.find((event) => event.id === id)?.entry.code === code,
        ),
      )!.atMs;
    const interval = deriveFacts(view).intervals.find(({ id }) => id === 'head-to-body')!;
    expect(interval.value.kind).toBe('known');
    const { ms } = interval.value as { ms: number };
    expect(Math.abs(ms - (said('body-delivered') - said('head-delivered')))).toBeLessThan(ONSET_MS);
  });

  test('keeps an unbroken chain, and asks no other origin for anything', () => {
    expect(verifyChain(file.events)).toMatchObject({ kind: 'intact' });
    expect(foreign).toEqual([]);
    expect(errors).toEqual([]);
  });

  test('gives the same entries as the command line does from the same file', () => {
    const folder = mkdtempSync(join(tmpdir(), 'utterlog-replay-'));
    const record = join(folder, 'record.json');
    execFileSync('npm', ['run', '-s', 'replay', '--', WAV, '--record', record], { cwd: ROOT });
    const replayed = foldRecord(JSON.parse(readFileSync(record, 'utf8')) as RecordFile);
    rmSync(folder, { recursive: true });
    expect(view.entries.map(({ entry }) => entry)).toEqual(replayed.entries.map(({ entry }) => entry));
    const apart = view.entries.map(({ atMs }, at) => atMs - replayed.entries[at]!.atMs);
    expect(Math.max(...apart) - Math.min(...apart)).toBeLessThan(100);
  });
});

test('a browser that is killed in the middle loses nothing that was shown', async () => {
  const app = await openApp(server, { microphoneWav: WAV, viewport: { width: 2300, height: 1000 } });
  await beginPractice(app.page);
  await until(app.page, 'mcroberts', 90_000);
  const shown = await app.page
    .locator('[data-entry]')
    .evaluateAll((rows) => rows.map((row) => row.getAttribute('data-entry')));
  expect(shown.length).toBeGreaterThan(4);
  const recordId = app.page.url().split('#/live/')[1]!;
  const before = (await newest(app.page)).view;
  const browserPid = execFileSync('pgrep', ['-f', `user-data-dir=${app.profile}`], {
    encoding: 'utf8',
  }).split('\n')[0]!;
  process.kill(Number(browserPid), 'SIGKILL');
  await app.close(false).catch(() => {});

  const again = await openApp(server, { profile: app.profile, path: `#/live/${recordId}` });
  await again.page.getByRole('heading', { level: 1 }).first().waitFor({ state: 'attached' });
  const { file, view } = await newest(again.page);
  const kept = view.entries.map(({ entryId }) => entryId);
  for (const entryId of shown) expect(kept).toContain(entryId);
  expect(kept).toEqual(expect.arrayContaining(before.entries.map(({ entryId }) => entryId)));
  expect(view.interruptions.some(({ kind }) => kind === 'restart')).toBe(true);
  expect(verifyChain(file.events)).toMatchObject({ kind: 'intact' });
  await again.close();
});

test('with the network cut after the first load the app is heard as before', async () => {
  const READY = 'Ready. Speech is recognised on this device.';
  const lone = await startServer();
  const app = await openApp(lone, { microphoneWav: WAV });
  await app.page.getByText(READY).waitFor({ timeout: 90_000 });
  lone.stop();
  await app.page.reload();
  await app.page.getByText(READY).waitFor({ timeout: 90_000 });
  await beginPractice(app.page);
  const heard = await until(app.page, 'head-delivered', 60_000);
  expect(codes(heard)[0]).toBe('head-delivered');
  await app.close();
});
