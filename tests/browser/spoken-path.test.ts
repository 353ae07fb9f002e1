import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readWav, writeWav } from '../../src/audio/wav.ts';
import { PRACTICE_EMERGENCY } from '../../src/packs/scenarios.ts';
import { type AppServer, openApp, type OpenApp, startServer } from './harness.ts';
import { beginRecord, button } from './live-steps.ts';

/**
 * One birth from the large button to the signed, exported note, without a keyboard until the baby is there: the
 * operator speaks, the helper completes, two reviewers sign.
 */
const RECORDING = join(import.meta.dirname, '../../static/practice/posterior-arm.wav');
/** Parts of the bundled recording that are spoken, s; between them it is quiet. */
const PARTS = [
  { fromS: 4, toS: 21.5 },
  { fromS: 84, toS: 88.5 },
  { fromS: 94, toS: 97.5 },
];
const QUIET_S = 5;

let server: AppServer;
let app: OpenApp;
let page: Page;
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'utterlog-path-'));
  const { sampleRate, samples } = readWav(readFileSync(RECORDING));
  const cut = PARTS.map(({ fromS, toS }) => samples.subarray(fromS * sampleRate, toS * sampleRate));
  const quiet = QUIET_S * sampleRate;
  const joined = new Float32Array(cut.reduce((sum, part) => sum + part.length + quiet, 0));
  let at = 0;
  for (const part of cut) {
    joined.set(part, at);
    at += part.length + quiet;
  }
  const microphoneWav = join(folder, 'birth.wav');
  writeFileSync(microphoneWav, writeWav({ sampleRate, samples: joined }));
  server = await startServer();
  app = await openApp(server, { microphoneWav });
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
  rmSync(folder, { recursive: true, force: true });
});

const saidAtMs = (id: string) => PRACTICE_EMERGENCY.lines.find(({ says }) => says?.includes(id))!.atMs;
/** Head to body as it is played: the part between is left out, and it is quiet instead. */
const HEAD_TO_BODY_S =
  (saidAtMs('body') - saidAtMs('head')) / 1000 - (PARTS[1]!.fromS - PARTS[0]!.toS) + QUIET_S;
const secondsOf = (minutesSeconds: string) => {
  const [minutes, seconds] = minutesSeconds.split(':').map(Number);
  return minutes! * 60 + seconds!;
};

async function save(name: string): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), button(page, name).click()]);
  return readFileSync(await download.path(), 'utf8');
}

const SPOKEN = ['Head delivered', 'Shoulder dystocia declared', 'Help called', 'Baby delivered'];

test('the operator speaks: every call-out stands on the strip', async () => {
  await page.getByText('Ready. Speech is recognised on this device.').waitFor({ timeout: 90_000 });
  await beginRecord(page, 'real');
  for (const words of SPOKEN) await page.getByText(words).first().waitFor({ timeout: 60_000 });
}, 120_000);

test('after the birth a call-out is still heard, and what is missing is completed by touch', async () => {
  await page.getByRole('link', { name: 'After the birth' }).click();
  await page.getByRole('link', { name: /^Missing/ }).click();
  await page.getByRole('heading', { level: 1, name: 'What is missing' }).waitFor();
  for (const fold of ['Only in people’s heads', 'Can be found later', 'Recorded already'])
    await page.locator('summary', { hasText: fold }).click();
  await page.locator('#item-cord-clamped-time', { hasText: /\d\d:\d\d/ }).waitFor({ timeout: 30_000 });
  await button(page, 'Record: Birth weight').click();
  await page.getByRole('radio', { name: 'grams', exact: true }).check();
  await page.getByLabel('Weight', { exact: true }).fill('4120');
  await button(page, 'Save').click();
  await page.locator('#item-birth-weight', { hasText: '4120 g' }).waitFor();
});

test('two people read every spoken entry in the review and sign', async () => {
  await page.getByRole('link', { name: 'Log', exact: true }).click();
  for (const words of SPOKEN) await page.locator('[data-row]', { hasText: words }).first().waitFor();
  await page.getByRole('link', { name: /^Sign/ }).click();
  for (const [name, role] of [
    ['Invented One', 'midwife'],
    ['Invented Two', 'obstetrician'],
  ] as const) {
    await page.getByLabel('Name', { exact: true }).fill(name);
    await page.getByRole('textbox', { name: 'Role', exact: true }).fill(role);
    await button(page, 'Sign').click();
    await page.getByText(name).first().waitFor();
  }
  await page.getByText('Signed by two people.').waitFor();
});

test('the exported note holds what was said, what was touched and who signed', async () => {
  await page.getByRole('link', { name: /^Hand out/ }).click();
  await page.locator('summary', { hasText: 'Files for other programs' }).click();
  const text = await save('Text');
  for (const words of [...SPOKEN, 'Cord clamped', '4120 g', 'Invented One', 'Invented Two'])
    expect(text).toContain(words);
  const headToBody = /^Head to body\s+(\d+:\d\d)/m.exec(text)![1]!;
  expect(Math.abs(secondsOf(headToBody) - HEAD_TO_BODY_S)).toBeLessThanOrEqual(1);

  const bundle = JSON.parse(await save('FHIR document')) as {
    entry: { resource: { resourceType: string; code?: { text?: string } } }[];
  };
  const [composition] = bundle.entry;
  expect(composition!.resource.resourceType).toBe('Composition');
  const codes = bundle.entry.map(({ resource }) => resource.code?.text);
  expect(codes).toEqual(
    expect.arrayContaining(['Time head delivered', 'Shoulder dystocia declared', 'Help called']),
  );
  const narrative = JSON.stringify(composition);
  for (const words of [...SPOKEN, 'Cord clamped']) expect(narrative).toContain(`<td>${words}</td>`);
  expect(narrative).toContain(`<td>Head to body</td><td>${headToBody}</td>`);
});

test('nothing went to another origin and nothing broke', () => {
  expect(app.foreign).toEqual([]);
  expect(app.errors).toEqual([]);
});
