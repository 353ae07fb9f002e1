import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { axeProblems } from './axe.ts';
import { type AppServer, type OpenApp, openApp, startServer } from './harness.ts';
import { button, typeCallOut } from './live-steps.ts';
import { sidewaysPx, smallTargets } from './screen-checks.ts';

/** A live drill with two windows: the facilitator marks what happens, the team calls out. */
let server: AppServer;
let app: OpenApp;
let team: Page;
let facilitator: Page;
let debriefAddress = '';
beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { path: '#/practice' });
});
afterAll(async () => {
  await app.close();
  server.stop();
});

const practiceMark = (page: Page) => page.getByText('Practice – not a record of a birth').first();

/** Marks an event and gives the moment of the touch, ms of the test's clock. */
async function mark(event: string): Promise<number> {
  await facilitator.locator(`[data-event="${event}"]`).click();
  const at = Date.now();
  await facilitator.locator(`[data-marked="${event}"]`).waitFor();
  return at;
}

async function callOut(words: string, logged: string): Promise<void> {
  await typeCallOut(team, words);
  await facilitator.locator('[data-logged]', { hasText: logged }).first().waitFor();
}

const row = (event: string) => facilitator.locator(`tr[data-event="${event}"]`);
const stateOf = (event: string) => row(event).getAttribute('data-status');

test('a facilitator’s window marks the truth on the team’s clock, and the debrief compares', async () => {
  team = app.page;
  await practiceMark(team).waitFor();
  await team
    .locator('li', { hasText: 'First external manoeuvre' })
    .getByRole('link', { name: 'Live drill with a mannequin' })
    .click();
  await button(team, 'Begin the drill').click();
  const [opened] = await Promise.all([
    app.context.waitForEvent('page'),
    button(team, 'Open the facilitator’s window').click(),
  ]);
  facilitator = opened;
  await team.getByRole('link', { name: 'Go to the team’s screen' }).click();
  await team.getByLabel('Type a call-out').waitFor();
  await facilitator.getByRole('heading', { name: 'Touch when it happens' }).waitFor();
  await practiceMark(team).waitFor();
  await practiceMark(facilitator).waitFor();

  const headAt = await mark('head');
  await callOut('head is out', 'Head delivered');
  await mark('declared');
  await callOut('shoulder dystocia', 'dystocia');
  await mark('legs');
  const bodyAt = await mark('body');
  await callOut('baby out', 'Baby delivered');
  await facilitator.locator('[data-marked="legs"]').getByRole('button', { name: 'No', exact: true }).click();

  await button(facilitator, 'End the drill').click();
  await facilitator.getByRole('link', { name: 'Go to the debrief' }).click();
  await row('head').waitFor();
  debriefAddress = facilitator.url();
  expect(await stateOf('head')).toBe('called');
  expect(await stateOf('declared')).toBe('called');
  expect(await stateOf('body')).toBe('called');
  expect(await stateOf('legs')).toBe('missing');
  expect(await row('legs').innerText()).toContain('nobody said it');

  // The facilitator's touches, by the test's own clock, are the truth of head to body.
  const figure = await facilitator.locator('[data-figure="head-to-body"]').innerText();
  // The screen rounds to whole seconds: half of one comes on top of the second that touches may differ by.
  const [, minutes, seconds] = /in truth\s+(\d+):(\d\d)/.exec(figure)!;
  const inTruth = Number(minutes) * 60 + Number(seconds);
  expect(Math.abs(inTruth - (bodyAt - headAt) / 1000)).toBeLessThan(1.5);
}, 180_000);

test('the figures beside it name their sources, and the export says that it is practice', async () => {
  const aside = facilitator.locator('aside').first();
  expect(await aside.innerText()).toContain('median 77 s off');
  for (const item of await aside.locator('li').all())
    expect(await item.innerText()).toMatch(/Source: .+\b(19|20)\d\d\b/);

  const [download] = await Promise.all([
    facilitator.waitForEvent('download'),
    button(facilitator, 'Save as CSV').click(),
  ]);
  expect(download.suggestedFilename()).toMatch(/^PRACTICE_/);
  const lines = readFileSync(await download.path(), 'utf8')
    .trim()
    .split('\r\n');
  expect(lines.slice(1).every((line) => line.startsWith('PRACTICE,'))).toBe(true);
  expect(lines).toHaveLength(5);
});

test('the drill stands in the trends: three of four recorded', async () => {
  await facilitator.goto(`${server.url}#/practice/trends`);
  await practiceMark(facilitator).waitFor();
  const cells = facilitator.locator('tbody tr').first().locator('td');
  await cells.nth(1).waitFor();
  expect(await cells.nth(1).innerText()).toBe('75 %');
  expect(await cells.nth(3).innerText()).toBe('75 %');
});

test('every practice screen is accessible, touchable, and fits a narrow and a wide window', async () => {
  const debrief = /#\/practice\/debrief\/.*/.exec(debriefAddress)![0];
  const live = '#/practice/live/posterior-arm';
  for (const address of ['#/practice', '#/practice/trends', '#/practice/edit', live, '#/card', debrief]) {
    await facilitator.goto(server.url + address);
    await facilitator.locator('h1').first().waitFor();
    for (const width of [360, 1280]) {
      await facilitator.setViewportSize({ width, height: 800 });
      expect(await sidewaysPx(facilitator), `${address} ${width}`).toBeLessThanOrEqual(0);
      expect(await smallTargets(facilitator), `${address} ${width}`).toEqual([]);
    }
    expect(await axeProblems(facilitator), address).toEqual([]);
  }
}, 180_000);

test('a table-top drill: an event is told, a call-out is typed, the debrief follows', async () => {
  await team.goto(`${server.url}#/practice/table-top/side-corrected`);
  await button(team, 'Next event').click();
  await team.getByText('1 of 17').waitFor();
  await team.getByLabel('Type what you would call out').pressSequentially('head is out');
  await button(team, 'Call out').click();
  await team.getByText('Logged: Head delivered').waitFor();
  await button(team, 'Next event').click();
  await team.getByLabel('Type what you would call out').pressSequentially('facing left');
  await button(team, 'Call out').click();
  await team.getByText(/Logged: Head faces/).waitFor();
  await button(team, 'Finish and debrief').click();
  const faces = team.locator('tr[data-event="faces"]');
  await faces.waitFor();
  expect(await faces.getAttribute('data-status')).toBe('wrong');
  expect(await faces.innerText()).toContain('left instead of right');
});

test('a unit writes a scenario, and finds it again', async () => {
  await team.goto(`${server.url}#/practice/edit`);
  await team.getByLabel('Title').fill('Our own birth');
  await button(team, 'Birth').click();
  await team.locator('[data-code="head-delivered"]').click();
  await button(team, 'Birth').click();
  await team.locator('[data-code="body-delivered"]').click();
  await team.getByLabel('Seconds').last().fill('45');
  await button(team, 'Save the scenario').click();
  await team.getByText('Saved: Our own birth').waitFor();
  await team.goto(`${server.url}#/practice`);
  const own = team.locator('li', { hasText: 'Our own birth' });
  await own.getByText('0:45 · 2 events').waitFor();
  const [download] = await Promise.all([
    team.waitForEvent('download'),
    own.getByRole('button', { name: 'Export' }).click(),
  ]);
  expect(download.suggestedFilename()).toMatch(/^PRACTICE_utterlog_scenario_own-/);
  const scenario = JSON.parse(readFileSync(await download.path(), 'utf8')) as { truth: { atMs: number }[] };
  expect(scenario.truth.map(({ atMs }) => atMs)).toEqual([0, 45_000]);
  expect(app.errors).toEqual([]);
  expect(app.foreign).toEqual([]);
});
