import { OPENER } from './page-keys.ts';
import type { Page } from 'playwright-core';
import type { LogEvent, RecordFile } from '../../src/core/log/events.ts';

/**
 * Reads every record straight from the browser's database, past the app's own code: what is truly kept.
 * Newest first.
 */
export async function storedRecords(page: Page): Promise<RecordFile[]> {
  const kept = await page.evaluate<{ key: unknown[]; value: unknown }[]>(`(async () => {
    const open = await (${OPENER})();
    const wait = (request) => new Promise((done, fail) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
    const database = await wait(indexedDB.open('utterlog'));
    const store = database.transaction('kept').objectStore('kept');
    const [keys, values] = await Promise.all([wait(store.getAllKeys()), wait(store.getAll())]);
    database.close();
    const records = keys.map((key, at) => ({ key, value: values[at] }))
      .filter(({ key }) => key[0] === 'header' || key[0] === 'events');
    return Promise.all(records.map(async ({ key, value }) => ({ key, value: await open(value) })));
  })()`);
  return kept
    .filter(({ key }) => key[0] === 'header')
    .map(({ key, value }) => {
      const events = kept
        .filter((other) => other.key[0] === 'events' && other.key[1] === key[1])
        .flatMap((other) => other.value as LogEvent[])
        .sort((a, b) => a.seq - b.seq);
      return { ...(value as RecordFile), events };
    })
    .sort((a, b) => (a.createdAt < b.createdAt ? 1 : -1));
}
