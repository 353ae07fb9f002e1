import type { Page } from 'playwright-core';
import type { LogEvent, RecordFile } from '../../src/core/log/events.ts';

/**
 * Reads every record straight from the browser's database, past the app's own code: what is truly kept.
 * Newest first.
 */
export async function storedRecords(page: Page): Promise<RecordFile[]> {
  const kept = await page.evaluate(
    () =>
      new Promise<{ key: unknown[]; value: unknown }[]>((resolve, reject) => {
        const request = indexedDB.open('utterlog');
        request.onerror = () => reject(new Error(String(request.error)));
        request.onsuccess = () => {
          const database = request.result;
          const store = database
            .transaction(database.objectStoreNames[0]!)
            .objectStore(database.objectStoreNames[0]!);
          const found: { key: unknown[]; value: unknown }[] = [];
          const cursor = store.openCursor();
          cursor.onsuccess = () => {
            const at = cursor.result;
            if (!at) {
              database.close();
              return resolve(found);
            }
            found.push({ key: at.key as unknown[], value: at.value as unknown });
            at.continue();
          };
        };
      }),
  );
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
