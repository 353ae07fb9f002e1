import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import type { Heard } from '../../src/core/interpret/interpretation.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import messages from '../../src/ui/messages/en.json';
import { type AppServer, openApp, type OpenApp, startServer } from './harness.ts';
import { beginRecord } from './live-steps.ts';
import { storedRecords } from './stored-records.ts';

/**
 * What the app does where an utterance is unsure, in a real browser. The speech worker is a stand-in, so that it is
 * known what is heard and when; the worker's own part is tested with the model (tests/speech) and in tests/asr.
 */
let server: AppServer;
let app: OpenApp | undefined;
beforeAll(async () => (server = await startServer()));
afterEach(async () => {
  await app?.close();
  app = undefined;
});
afterAll(() => server.stop());

interface Played {
  say(message: object): void;
  got: {
    kind: string;
    onsetMs?: number;
    timesBefore?: number;
    /** The sound stays in the worker: only its length is said. */
    speechMs?: number;
    chunk?: { atMs: number };
  }[];
}

const played = (): void => {
  class PlayedWorker extends EventTarget implements Played {
    onmessage: ((event: { data: unknown }) => void) | null = null;
    got: Played['got'] = [];
    postMessage(message: Played['got'][number] & { ticket?: number }): void {
      this.got.push(message);
      Object.assign(window, { worker: this });
      if (message.kind === 'open') this.say({ kind: 'ready', loadMs: 1 });
      if (message.kind === 'forget') this.say({ kind: 'forgotten' });
      if (message.kind === 'flush') this.say({ kind: 'flushed', ticket: message.ticket });
    }
    say(data: object): void {
      setTimeout(() => this.onmessage?.({ data }));
    }
    terminate(): void {}
  }
  window.Worker = PlayedWorker as unknown as typeof Worker;
};

const readings = (tuned: string, untouched = tuned): Heard => ({
  tuned: { text: tuned, logProbabilities: [-0.01] },
  untouched: { text: untouched, logProbabilities: [-0.01] },
  doubts: [],
  speechMs: 300,
});
const UNSURE = readings('suprapubic pressure from the right', 'suprapubic pressure from the left');
const SURE = readings('suprapubic pressure from the right');

async function listening(): Promise<Page> {
  app = await openApp(server, {
    args: ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
    before: played,
  });
  const { page } = app;
  await beginRecord(page, 'practice');
  await page.getByText(messages.live.hearing.listening, { exact: true }).waitFor({ timeout: 30_000 });
  await page.waitForTimeout(1_000);
  return page;
}

/** Something is heard that was said at this moment; @returns its onset. */
const hear = (page: Page, heard: Heard): Promise<number> =>
  page.evaluate((readings) => {
    const { worker } = window as unknown as { worker: Played };
    const onsetMs = performance.now() - 400;
    worker.say({
      kind: 'heard',
      onsetMs,
      endMs: onsetMs + 300,
      cut: false,
      heard: readings,
      computeMs: 1,
      early: false,
    });
    return onsetMs;
  }, heard);

/** How often the worker was asked to listen again to the utterance that began then. */
const askedAgain = (page: Page, onsetMs: number): Promise<number> =>
  page.evaluate((onset) => {
    const { worker } = window as unknown as { worker: Played };
    return worker.got.filter(
      ({ kind, onsetMs, speechMs }) => kind === 'again' && onsetMs === onset && speechMs === 300,
    ).length;
  }, onsetMs);

const answer = (page: Page, onsetMs: number, heard: Heard | null, timesBefore = 0): Promise<void> =>
  page.evaluate(
    ([onset, readings, times]) =>
      (window as unknown as { worker: Played }).worker.say({
        kind: 'again',
        onsetMs: onset,
        timesBefore: times,
        heard: readings,
      }),
    [onsetMs, heard, timesBefore] as const,
  );

const viewOf = async (page: Page) => foldRecord((await storedRecords(page))[0]!);

describe('an utterance that is unsure', () => {
  test('is logged by itself where a second listening confirms it, and the review says so', async () => {
    const page = await listening();
    const onsetMs = await hear(page, UNSURE);
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(1);
    expect((await viewOf(page)).utterances).toHaveLength(0);
    await answer(page, onsetMs, SURE);
    await expect.poll(async () => (await viewOf(page)).entries.length).toBe(1);
    const { utterances, questions } = await viewOf(page);
    expect(questions).toEqual([]);
    expect(utterances).toMatchObject([
      { secondListening: 'confirmed', heardSecond: SURE.untouched!.text, outcome: 'accept' },
    ]);
    const id = (await storedRecords(page))[0]!.recordId;
    await page.goto(`${server.url}#/review/${id}`);
    await page
      .getByRole('button', { name: /Suprapubic pressure/ })
      .first()
      .click();
    await page.getByText(messages.desk.heard.listened.confirmed).waitFor();
  });

  test('is listened to a third time while it is a question, and logged where that confirms it', async () => {
    const page = await listening();
    const onsetMs = await hear(page, UNSURE);
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(1);
    await answer(page, onsetMs, UNSURE);
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(2);
    expect((await viewOf(page)).utterances).toHaveLength(0);
    await answer(page, onsetMs, SURE, 1);
    await expect.poll(async () => (await viewOf(page)).entries.length).toBe(1);
    expect((await viewOf(page)).utterances).toMatchObject([
      { secondListening: 'confirmed', outcome: 'accept' },
    ]);
  });

  test('that nothing was recognised of is listened to until one understands it, and logged where the next agrees', async () => {
    const page = await listening();
    const lost = readings('preparing the mail');
    const onsetMs = await hear(page, lost);
    for (const [times, heard] of [lost, lost, SURE].entries()) {
      await expect.poll(() => askedAgain(page, onsetMs)).toBe(times + 1);
      await answer(page, onsetMs, heard, times);
    }
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(4);
    expect((await viewOf(page)).utterances).toHaveLength(0);
    await answer(page, onsetMs, SURE, 3);
    await expect.poll(async () => (await viewOf(page)).entries.length).toBe(1);
    expect((await viewOf(page)).utterances).toMatchObject([
      { secondListening: 'confirmed', heard: SURE.tuned.text, outcome: 'accept' },
    ]);
  });

  test('is asked where it was clear but less sure and two other listenings heard something else', async () => {
    const page = await listening();
    const weak = { ...SURE, tuned: { ...SURE.tuned, logProbabilities: [-0.8, -0.8, -0.8, -0.8, -0.8] } };
    const onsetMs = await hear(page, weak);
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(1);
    await answer(page, onsetMs, readings('the mail'));
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(2);
    await answer(page, onsetMs, readings('head out'), 1);
    await expect.poll(async () => (await viewOf(page)).questions.length).toBe(1);
    const { utterances, entries } = await viewOf(page);
    expect(entries).toEqual([]);
    expect(utterances).toMatchObject([{ secondListening: 'doubted', outcome: 'ask' }]);
  });

  test('stands as it was heard first where other speech comes, and both are in order', async () => {
    const page = await listening();
    const first = await hear(page, UNSURE);
    await expect.poll(() => askedAgain(page, first)).toBe(1);
    await page.waitForTimeout(500);
    await hear(page, readings('baby out'));
    await answer(page, first, SURE);
    await expect.poll(async () => (await viewOf(page)).utterances.length).toBe(2);
    const { utterances, questions } = await viewOf(page);
    expect(utterances.map(({ outcome }) => outcome)).toEqual(['ask', 'accept']);
    expect(utterances[0]).not.toHaveProperty('secondListening');
    expect(questions).toHaveLength(1);
  });

  test('stands as it was heard first where the worker never answers', async () => {
    const page = await listening();
    const onsetMs = await hear(page, UNSURE);
    await expect.poll(() => askedAgain(page, onsetMs)).toBe(1);
    await expect.poll(async () => (await viewOf(page)).questions.length, { timeout: 6_000 }).toBe(1);
  });

  test('what is sure is not listened to again', async () => {
    const page = await listening();
    const onsetMs = await hear(page, SURE);
    await expect.poll(async () => (await viewOf(page)).entries.length).toBe(1);
    expect(await askedAgain(page, onsetMs)).toBe(0);
  });
});

test('the voice check listens again as the record does, and tells what would be logged', async () => {
  app = await openApp(server, {
    args: ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
    before: played,
  });
  const { page } = app;
  const { begin, lastOne, outcome } = messages.settings.voiceCheck;
  await page.goto(`${server.url}#/voice-check`);
  await page.getByRole('button', { name: begin }).click();
  await page.getByText('Head out', { exact: true }).waitFor({ timeout: 30_000 });
  const onsetMs = await hear(page, readings('head out', 'hand out'));
  await expect.poll(() => askedAgain(page, onsetMs)).toBe(1);
  await answer(page, onsetMs, readings('head out'));
  const told = lastOne.replace('{phrase}', 'Head out').replace('{outcome}', outcome.heard);
  await page.getByText(told).first().waitFor();
});
