import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { exportRecord } from '../../src/core/record/export.ts';
import { startFhirServer } from '../app/fhir-server.ts';
import { fullBirth } from './desk-fixtures.ts';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { button } from './live-steps.ts';

const TOKEN = 'invented-token';
let fhir: Awaited<ReturnType<typeof startFhirServer>>;
let server: AppServer;
let app: OpenApp;
let page: Page;

beforeAll(async () => {
  fhir = await startFhirServer(TOKEN);
  server = await startServer({ FHIR_ORIGIN: new URL(fhir.url).origin });
  app = await openApp(server, { path: '#/records' });
  page = app.page;
});
afterAll(async () => {
  await app?.close();
  server?.stop();
  fhir?.server.close();
});

async function importBirth(on: Page, recordId: string): Promise<void> {
  const buffer = Buffer.from(exportRecord(fullBirth(recordId)));
  const file = { name: 'birth.json', mimeType: 'application/json', buffer };
  await on.locator('input[type=file]').setInputFiles(file);
  const dialog = on.getByRole('dialog', { name: 'Import' });
  await dialog.getByText('1 record imported').waitFor();
  await dialog.getByRole('button', { name: 'Close' }).click();
}

async function turnOn(on: Page, base: string): Promise<void> {
  await on.goto(`${base}#/settings`);
  await on.getByLabel('Address of the FHIR R4 server').fill(fhir.url);
  await on.getByLabel('Access token').fill(TOKEN);
  await button(on, 'Turn sending on').click();
  await on.getByText('Sending is on.').waitFor();
}

/** Ends the browser and starts another on the same profile. */
async function restart(): Promise<void> {
  await app.close(false);
  app = await openApp(server, { profile: app.profile, path: '#/settings' });
  page = app.page;
  await page.getByRole('heading', { name: 'Outbox' }).waitFor();
}
const posts = () => fhir.requests.filter((request) => request.startsWith('POST'));

test('off by default: a finished record reaches nobody', async () => {
  await importBirth(page, 'send-one');
  await page.goto(`${server.url}#/settings`);
  await page.getByText('Sending is off.').waitFor();
  expect(await button(page, 'Send').count()).toBe(0);
  expect(app.foreign).toEqual([]);
});

test('turned on: asked for by preflight, refused for now, kept in the outbox over a restart', async () => {
  await turnOn(page, server.url);
  expect(fhir.requests).toEqual([]);
  fhir.mood(['fails-503']);
  await button(page, 'Send').click();
  await page.getByText(/not yet accepted \(The server cannot take it just now\. 503/).waitFor();
  expect(fhir.preflights).toContain(new URL(server.url).origin);
  expect(posts()).toHaveLength(1);
  await restart();
  await page.getByText(/not yet accepted \(The server cannot take it just now\. 503/).waitFor();
  expect(await fhir.stored()).toBe(0);
});

test('an answer that got lost, and a restart: looked up, accepted, stored once', async () => {
  fhir.mood(['answers', 'takes-and-hangs-up']);
  await button(page, 'Try again now').click();
  await expect.poll(() => fhir.stored(), { timeout: 20_000 }).toBe(1);
  await restart();
  await button(page, 'Try again now').click();
  await page.getByText(/(was already there|accepted) .*Bundle\//).waitFor();
  expect(await fhir.stored()).toBe(1);
});

test('what was accepted is never sent again: not by a restart, not by hand', async () => {
  const before = fhir.requests.length;
  await restart();
  await page.getByText(/(was already there|accepted) .*Bundle\//).waitFor();
  await button(page, 'Try again now').click();
  await page.waitForTimeout(1_000);
  expect(fhir.requests.length).toBe(before);
  expect(await button(page, 'Send').count()).toBe(0);
});

test('nothing else was reached, and the policy of the page was never broken', () => {
  const origin = new URL(fhir.url).origin;
  expect(app.foreign.filter((url) => !url.startsWith(`${origin}/fhir/`))).toEqual([]);
  expect(app.errors.filter((error) => /content security policy/i.test(error))).toEqual([]);
});

test('a server that was started without the address lets nothing out, and says so', async () => {
  const strict = await startServer();
  const other = await openApp(strict, { path: '#/records' });
  try {
    const before = [fhir.requests.length, fhir.preflights.length];
    await importBirth(other.page, 'send-two');
    await turnOn(other.page, strict.url);
    await button(other.page, 'Send').click();
    await other.page.getByText(/This app was not allowed to reach http:\/\/127\.0\.0\.1/).waitFor();
    expect([fhir.requests.length, fhir.preflights.length]).toEqual(before);
  } finally {
    await other.close();
    strict.stop();
  }
});
