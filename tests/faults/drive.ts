import type { BrowserContext, Page } from 'playwright-core';
import { verifyRecord } from '../../src/core/log/chain.ts';
import type { RecordFile } from '../../src/core/log/events.ts';
import { OPENER } from '../browser/page-keys.ts';
import type { Random } from './random.ts';

/** An entry as the screen showed it: its clock time and its time since the head. */
export interface Shown {
  time: string;
  sinceHead: string;
}

/** Everything that the screen has ever shown as logged, kept outside of the browser. */
export class Acknowledged {
  readonly entries = new Map<string, Shown>();
  readonly #waiting = new Set<() => void>();

  /** Watches every page of this context from now on. */
  async watch(context: BrowserContext): Promise<void> {
    await context.exposeBinding('entryShown', (_source, id: string, time: string, sinceHead: string) => {
      if (!this.entries.has(id)) this.entries.set(id, { time, sinceHead });
      for (const check of this.#waiting) check();
    });
    // tsx marks the names of functions with a helper that pages do not have.
    await context.addInitScript('globalThis.__name ??= (named) => named');
    await context.addInitScript(() => {
      const seen = new Set<string>();
      const look = () => {
        for (const row of document.querySelectorAll<HTMLElement>('[data-entry]')) {
          const id = row.dataset['entry']!;
          if (seen.has(id)) continue;
          seen.add(id);
          const part = (name: string) => row.querySelector(name)?.textContent?.trim() ?? '';
          const shown = (window as unknown as { entryShown: (...args: string[]) => void }).entryShown;
          shown(id, part('.time'), /[-−]?\d+:\d\d/.exec(part('.made'))?.[0] ?? '');
        }
      };
      new MutationObserver(look).observe(document, { subtree: true, childList: true });
    });
  }

  /** Forgets all but these. */
  restart(entries: ReadonlyMap<string, Shown>): void {
    this.entries.clear();
    for (const [id, shown] of entries) this.entries.set(id, shown);
  }

  /** Resolves when this many entries have been shown in all. */
  reach(count: number, limitMs = 15_000): Promise<void> {
    return new Promise((done, fail) => {
      const timer = setTimeout(
        () => fail(new Error(`only ${this.entries.size} of ${count} entries were shown`)),
        limitMs,
      );
      const check = () => {
        if (this.entries.size < count) return;
        clearTimeout(timer);
        this.#waiting.delete(check);
        done();
      };
      this.#waiting.add(check);
      check();
    });
  }
}

/** Begins a practice record and comes to its live screen; gives back its id. */
export async function beginRecord(page: Page, url: string): Promise<string> {
  await page.goto(url);
  await page.locator('input[type=radio][value=practice]').check();
  await page.locator('button.big').click();
  await page.waitForURL(/#\/live\//);
  await page.locator('.tab').first().waitFor();
  return page.url().split('/').at(-1)!;
}

export async function openRecord(page: Page, url: string, recordId: string): Promise<void> {
  await page.goto('about:blank');
  await page.goto(`${url}#/live/${recordId}`);
  await page.locator('.tab').first().waitFor({ timeout: 20_000 });
}

/** Codes that one touch logs, by the place of their group among the pad's tabs. */
const TOUCHES: [number, string][] = [
  [1, 'mcroberts'],
  [1, 'all-fours'],
  [1, 'axial-traction'],
  [1, 'posterior-arm'],
  [1, 'rubin-2'],
  [2, 'help-called'],
  [4, 'stop-pushing'],
  [4, 'push'],
  [5, 'cry'],
];
export const HEAD: [number, string] = [0, 'head-delivered'];

/** Two touches on the helper's pad, as fast as the screen follows. */
export async function touch(page: Page, [tab, code]: [number, string]): Promise<void> {
  await page.evaluate(
    async ([index, wanted]) => {
      const frame = () => new Promise((done) => requestAnimationFrame(done));
      const tabs = document.querySelectorAll<HTMLButtonElement>('.pad .tab');
      const button = () => document.querySelector<HTMLButtonElement>(`.pad [data-code="${wanted}"]`);
      for (let tries = 0; !button() && tries < 50; tries++) {
        tabs[index]!.click();
        await frame();
      }
      button()!.click();
    },
    [tab, code] as const,
  );
}

export const touchAny = (page: Page, random: Random) => touch(page, random.pick(TOUCHES));

/** Touches without pause until the page goes away. */
export async function touchUntilGone(page: Page, random: Random): Promise<void> {
  for (;;) {
    try {
      await touchAny(page, random);
      await page.waitForTimeout(random.between(0, 80));
    } catch {
      return;
    }
  }
}

/** What the list shows now. */
export async function shownNow(page: Page): Promise<Map<string, Shown>> {
  const rows = await page.locator('[data-entry]').evaluateAll((all) =>
    all.map((row) => ({
      id: (row as HTMLElement).dataset['entry']!,
      time: row.querySelector('.time')?.textContent?.trim() ?? '',
      sinceHead: /[-−]?\d+:\d\d/.exec(row.querySelector('.made')?.textContent ?? '')?.[0] ?? '',
    })),
  );
  return new Map(rows.map(({ id, time, sinceHead }) => [id, { time, sinceHead }]));
}

/** All that alerts say of storage and of the record, in words; that the microphone is off is no news here. */
export async function told(page: Page, alerts = '[role=alert]:not(.notice)'): Promise<string> {
  const texts = await page.locator(alerts).allInnerTexts();
  return texts
    .map((text) => text.replace(/\s+/g, ' ').trim())
    .filter(Boolean)
    .join(' | ');
}

/** What the review says of the stretches in which the record was not kept up. */
export async function gapsTold(page: Page, url: string, recordId: string): Promise<string> {
  await page.goto(`${url}#/review/${recordId}`);
  await page.getByText(/^Checked just now/).waitFor({ timeout: 20_000 });
  const gaps = await page.locator('.chain ~ ul li').allInnerTexts();
  return gaps.length === 0 ? '' : `${gaps.length} gaps in the review, the last: ${gaps.at(-1)!.trim()}`;
}

/** The record as it lies in the browser's database, read around the app. */
export async function storedRecord(page: Page, recordId: string): Promise<RecordFile | null> {
  return page.evaluate<RecordFile | null>(`(async () => {
    const open = await (${OPENER})();
    const id = ${JSON.stringify(recordId)};
    const wait = (request) => new Promise((done, fail) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
    const database = await wait(indexedDB.open('utterlog'));
    try {
      if (!database.objectStoreNames.contains('kept')) return null;
      const kept = database.transaction('kept').objectStore('kept');
      const [header, chunks] = await Promise.all([
        wait(kept.get(['header', id])),
        wait(kept.getAll(IDBKeyRange.bound(['events', id], ['events', id, []]))),
      ]);
      return header ? { ...header, events: (await Promise.all(chunks.map(open))).flat() } : null;
    } finally {
      database.close();
    }
  })()`);
}

/** Whether the record on the device is one unbroken chain; `null` where there is none. */
export async function chainOf(page: Page, recordId: string): Promise<string | null> {
  const file = await storedRecord(page, recordId);
  if (!file) return null;
  const state = verifyRecord(file);
  return state.kind === 'intact' ? 'intact' : `broken at ${state.seq}: ${state.why}`;
}
