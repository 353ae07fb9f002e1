import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { sealEvents } from '../core/log/chain.ts';
import type { EventBody, RecordFile } from '../core/log/events.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { emptySummary, extendSummary } from '../store/summary.ts';
import { serveApp } from '../../tests/faults/app-folder.ts';
import { firstPage, KillableBrowser } from '../../tests/faults/chromium.ts';

/**
 * Measures the app with a full store: 5,000 records of 200 entries, and one record of 10,000 utterances.
 * `npm run bench:load`; `-- --records N` for another size, `--dist FOLDER` for another build.
 */
const { values } = parseArgs({
  options: {
    records: { type: 'string', default: '5000' },
    dist: { type: 'string', default: join(import.meta.dirname, '../../dist') },
  },
});
const RECORDS = Number(values.records);
const LIMITS_MS = { start: 2_000, search: 100, open: 1_000, frame: 50 };

function recordOf(recordId: string, entries: number): RecordFile {
  const createdAt = '2026-03-05T14:00:00.000+00:00';
  const file = createRecordFile({ recordId, mode: 'real', wallMs: 0, createdAt, timeZone: 'Europe/London' });
  const codes = ['push', 'stop-pushing', 'mcroberts', 'suprapubic-pressure', 'all-fours'];
  const bodies = Array.from({ length: entries }, (_, n): EventBody[] => {
    const [utteranceId, entryId, atMs] = [`u${n}`, `e${n}`, n * 1000];
    const heard = { heard: 'words', heardSecond: 'words', confidence: 0.9, outcome: 'accept' } as const;
    const said = { kind: 'utterance', utteranceId, onsetMs: atMs, endMs: atMs + 900, ...heard } as const;
    if (n % 5 === 4) return [{ ...said, heard: 'mind the drip stand', outcome: 'unrecognised' }];
    return [
      said,
      { kind: 'entry', entryId, entry: { code: codes[n % 5]! }, atMs, timing: 'heard', utteranceId },
    ];
  }).flat();
  const endMs = entries * 1000;
  bodies.push({ kind: 'finish', atMs: endMs });
  const made = { by: { kind: 'voice' }, madeAtMs: endMs, madeAt: createdAt } as const;
  return { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, bodies, made)] };
}

const small = recordOf('small', 200);
const large = recordOf('large', 10_000);
const app = await serveApp(values.dist);
const browser = new KillableBrowser();
try {
  let context = await browser.launch();
  // tsx marks the names of functions with a helper that pages do not have.
  const helper = 'globalThis.__name ??= (named) => named';
  await context.addInitScript(helper);
  let page = await firstPage(context);
  await page.goto(app.url);
  await page.getByRole('main').waitFor();
  const summary = extendSummary(emptySummary(small), small.events);
  const largeSummary = { ...extendSummary(emptySummary(large), large.events), reference: 'the long one' };
  await page.evaluate(
    async ([smallFile, smallSummary, largeFile, ofLarge, count]) => {
      const database = await new Promise<IDBDatabase>((done, fail) => {
        const request = indexedDB.open('utterlog');
        request.onsuccess = () => done(request.result);
        request.onerror = () => fail(request.error);
      });
      const write = (put: (kept: IDBObjectStore) => void) =>
        new Promise<void>((done, fail) => {
          const transaction = database.transaction('kept', 'readwrite', { durability: 'relaxed' });
          transaction.oncomplete = () => done();
          transaction.onabort = () => fail(transaction.error);
          put(transaction.objectStore('kept'));
        });
      const putRecord = (kept: IDBObjectStore, file: RecordFile, listed: object, recordId: string) => {
        const { events, ...header } = file;
        kept.put({ ...header, recordId }, ['header', recordId]);
        kept.put({ ...listed, recordId }, ['summary', recordId]);
        for (let at = 0; at < events.length; at += 500) {
          kept.put(events.slice(at, at + 500), ['events', recordId, at]);
        }
      };
      for (let at = 0; at < count; at += 100) {
        await write((kept) => {
          for (let n = at; n < Math.min(at + 100, count); n++) {
            putRecord(kept, smallFile, { ...smallSummary, reference: `bed ${n}` }, `small-${n}`);
          }
        });
      }
      await write((kept) => putRecord(kept, largeFile, ofLarge, 'large'));
      database.close();
    },
    [small, summary, large, largeSummary, RECORDS] as const,
  );
  console.log(`${RECORDS} records of 200 entries and one of 10,000 utterances are in the store.`);
  await browser.kill();

  context = await browser.launch();
  await context.addInitScript(helper);
  page = await firstPage(context);
  await page.goto('about:blank');
  /** From the beginning of the navigation to the first frame in which the selector is there. */
  const timeTo = async (path: string, selector: string): Promise<number> => {
    await page.goto('about:blank');
    await page.goto(app.url + path, { waitUntil: 'commit' });
    return page.evaluate(
      (wanted) =>
        new Promise<number>((done) => {
          const look = () => {
            if (document.querySelector(wanted)) done(performance.now());
            else requestAnimationFrame(look);
          };
          look();
        }),
      selector,
    );
  };
  const results: [string, number[], number][] = [
    ['start', [], LIMITS_MS.start],
    ['list of records', [], LIMITS_MS.start],
    ['search', [], LIMITS_MS.search],
    ['frame while the list scrolls', [], LIMITS_MS.frame],
    ['open 10,000 utterances from the list', [], LIMITS_MS.open],
    ['the same until the log is checked', [], Infinity],
  ];
  for (let round = 0; round < 5; round++) {
    results[0]![1].push(await timeTo('', 'button.big'));
    results[1]![1].push(await timeTo('#/records', 'a[href*="small-"]'));
    const searchMs = await page.evaluate(
      async (wanted) => {
        const input = document.querySelector<HTMLInputElement>('input[type=search]')!;
        const frame = () => new Promise((done) => requestAnimationFrame(done));
        input.value = wanted;
        const startMs = performance.now();
        input.dispatchEvent(new Event('input', { bubbles: true }));
        const found = () => document.querySelectorAll('a[href*="small-"]').length === 1;
        while (!found()) await frame();
        return performance.now() - startMs;
      },
      `small-${RECORDS - 7}`,
    );
    results[2]![1].push(searchMs);
    await page.locator('input[type=search]').fill('');
    const frameMs = await page.locator('.box').evaluate(async (box) => {
      const frame = () => new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
      const steps: number[] = [];
      for (let step = 1; step <= 60; step++) {
        const from = performance.now();
        box.scrollTop = (box.scrollHeight * step) / 60;
        await frame();
        steps.push(performance.now() - from);
      }
      return steps.sort((a, b) => a - b)[Math.floor(60 * 0.9)]!;
    });
    results[3]![1].push(frameMs);
    const opened = await page.evaluate(
      () =>
        new Promise<{ shownMs: number; checkedMs: number }>((done) => {
          const startMs = performance.now();
          let shownMs = 0;
          location.hash = '#/review/large';
          const look = () => {
            if (!shownMs && document.querySelector('[data-row]')) shownMs = performance.now() - startMs;
            if (document.querySelector('.chain.whole'))
              done({ shownMs, checkedMs: performance.now() - startMs });
            else requestAnimationFrame(look);
          };
          look();
        }),
    );
    results[4]![1].push(opened.shownMs);
    results[5]![1].push(opened.checkedMs);
  }
  let missed = 0;
  for (const [what, times, limit] of results) {
    const sorted = [...times].sort((a, b) => a - b);
    const median = sorted[Math.floor(sorted.length / 2)]!;
    if (median > limit) missed += 1;
    const all = times.map((ms) => ms.toFixed(0)).join(', ');
    const limited = Number.isFinite(limit) ? ` (limit ${limit} ms)` : '';
    console.log(`${what}: median ${median.toFixed(0)} ms of ${all}${limited}`);
  }
  process.exitCode = missed > 0 ? 1 : 0;
} finally {
  await browser.forget();
  await app.stop();
}
