import { readFileSync } from 'node:fs';
import type { BrowserContext } from 'playwright-core';
import { foldRecord } from '../../src/core/log/fold.ts';
import { importRecord } from '../../src/core/record/import.ts';
import { begun, expectThat, type Fault } from './campaign.ts';
import { smallDisk } from './small-disk.ts';
import { openRecord, storedRecord, told, touchAny, shownNow } from './drive.ts';
import { Scene } from './scene.ts';

/** The notice that the record is in memory only, with its download. */
const KEEPING = '.keeping';

/** Holds while the session that set it is attached, so it is never detached. */
async function setQuota(context: BrowserContext, url: string, quotaSize?: number): Promise<void> {
  const { origin } = new URL(url);
  const page = context.pages()[0]!;
  const session = await context.newCDPSession(page);
  await session.send('Storage.overrideQuotaForOrigin', {
    origin,
    ...(quotaSize === undefined ? {} : { quotaSize }),
  });
}

/** Fills what is left of the quota with another database, in ever smaller pieces. */
const fillUp = (scene: Scene) =>
  scene.page.evaluate(async () => {
    const database = await new Promise<IDBDatabase>((done, fail) => {
      const request = indexedDB.open('filler', 1);
      request.onupgradeneeded = () => request.result.createObjectStore('filler', { autoIncrement: true });
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
    const put = (bytes: number) =>
      new Promise<boolean>((done) => {
        const transaction = database.transaction('filler', 'readwrite');
        transaction.oncomplete = () => done(true);
        transaction.onabort = () => done(false);
        transaction.objectStore('filler').put(crypto.getRandomValues(new Uint8Array(bytes)));
      });
    for (let bytes = 60_000, at = 0; bytes >= 100 && at < 400; at++) {
      if (!(await put(bytes))) bytes = Math.floor(bytes / 2);
    }
    database.close();
  });

/** Chromium goes on for so long with the room that it found last. */
const ROOM_REMEMBERED_MS = 31_000;

/** While nothing can be kept: told, entries go on, and the record can be downloaded. */
async function checkHeld(scene: Scene, what: string): Promise<void> {
  const notice = scene.page.locator(KEEPING);
  // The last page of the database's log still takes a few entries.
  for (let at = 0; at < 60 && (await notice.count()) === 0; at++) await scene.add(1);
  await scene.add(3);
  scene.outcome.told = await told(scene.page);
  await scene.check(what, 'any');
  if ((await notice.count()) > 0) await checkDownload(scene, what);
  else expectThat(scene.outcome, false, `${what}: the fault did not come about`);
}

/** The download holds every entry that was ever shown. */
async function checkDownload(scene: Scene, what: string): Promise<void> {
  const [download] = await Promise.all([
    scene.page.waitForEvent('download', { timeout: 10_000 }),
    scene.page.locator(`${KEEPING} button`).first().click({ timeout: 10_000 }),
  ]);
  const file = importRecord(readFileSync(await download.path(), 'utf8'));
  const there = file.kind === 'ok' ? foldRecord(file.file).entries.map(({ entryId }) => entryId) : [];
  const missing = [...scene.acknowledged.entries.keys()].filter((id) => !there.includes(id));
  expectThat(scene.outcome, missing.length === 0, `${what}: the download lacks ${missing.length} entries`);
}

/** At the end the download is offered again, in words of its own. */
async function checkOfferAtEnd(scene: Scene): Promise<void> {
  await scene.add(1);
  await scene.page.goto(`${scene.app.url}#/after/${scene.recordId}`);
  await scene.page.getByRole('button', { name: 'The emergency is over' }).click();
  const end = scene.page.locator(KEEPING).getByText(/The record is finished: download it now/);
  await end.waitFor({ timeout: 5_000 }).catch(() => {});
  expectThat(scene.outcome, (await end.count()) > 0, 'no download was offered at the end');
  scene.outcome.told = `${scene.outcome.told}; at the end: ${await told(scene.page)}`;
  await checkDownload(scene, 'end');
  await scene.page.goto(`${scene.app.url}#/live/${scene.recordId}`);
}

/** With room again, the device gets everything and the notice goes. */
async function checkBack(scene: Scene): Promise<void> {
  await scene.page
    .waitForFunction((notice) => !document.querySelector(notice), KEEPING, { timeout: 60_000 })
    .catch(() => expectThat(scene.outcome, false, 'the record did not come back to the device'));
  await scene.reopen();
  await scene.check('room again');
}

export const STORAGE_FAULTS: Fault[] = [
  {
    name: 'storage full (the browser’s quota reached)',
    short: false,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        const { usage } = await scene.page.evaluate(() => navigator.storage.estimate());
        await setQuota(scene.context, scene.app.url, usage! + 3_000_000);
        await fillUp(scene);
        await setQuota(scene.context, scene.app.url, 1_000);
        await scene.page.waitForTimeout(ROOM_REMEMBERED_MS);
        await checkHeld(scene, 'quota');
        await scene.page.evaluate(() => void indexedDB.deleteDatabase('filler'));
        await setQuota(scene.context, scene.app.url);
        await checkBack(scene);
      }),
  },
  {
    name: 'disk full (the profile on a file system of its own, filled up)',
    short: false,
    run: async (stage) => {
      const disk = smallDisk();
      if (!disk) return { ...begun(), told: 'not tried: this needs the right to mount a file system' };
      try {
        return await Scene.play(
          stage,
          async (scene) => {
            // The speech model is kept meanwhile; the record must be what meets the full disk.
            await scene.page.evaluate(async () => void (await navigator.serviceWorker.ready));
            await scene.page.waitForTimeout(5_000);
            disk.fill();
            await scene.page.waitForTimeout(ROOM_REMEMBERED_MS);
            await checkHeld(scene, 'disk');
            await checkOfferAtEnd(scene);
            disk.empty();
            await checkBack(scene);
          },
          { profile: disk.folder },
        );
      } finally {
        disk.forget();
      }
    },
  },
  {
    name: 'IndexedDB refused (site data blocked in the browser)',
    short: true,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await scene.add(2);
          await scene.check('blocked', 'any');
          scene.outcome.told = await told(scene.page);
          expectThat(scene.outcome, scene.outcome.told !== '', 'nothing was said of the blocked storage');
          await checkDownload(scene, 'blocked');
          await checkOfferAtEnd(scene);
        },
        { launch: { contentSettings: { cookies: 2 } } },
      ),
  },
  {
    name: 'database deleted under the app',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        for (let at = 0; at < (stage.short ? 1 : 5); at++) {
          await scene.page.evaluate(
            () =>
              new Promise<void>((done, fail) => {
                const request = indexedDB.deleteDatabase('utterlog');
                request.onsuccess = () => done();
                request.onerror = () => fail(request.error);
              }),
          );
          await scene.add(1);
          await scene.reopen();
          await scene.check('deleted');
        }
        scene.outcome.told =
          (await told(scene.page)) || 'nothing: the window wrote the whole record again with the next entry';
      }),
  },
  {
    name: 'site data cleared through the browser while the record runs',
    short: false,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        const session = await scene.context.newCDPSession(scene.page);
        await session.send('Storage.clearDataForOrigin', {
          origin: new URL(scene.app.url).origin,
          storageTypes: 'indexeddb',
        });
        await scene.add(2);
        scene.outcome.told = (await told(scene.page)) || 'nothing: the window wrote the whole record again';
        await scene.page.waitForFunction((notice) => !document.querySelector(notice), KEEPING, {
          timeout: 40_000,
        });
        await scene.reopen();
        await scene.check('cleared');
      }),
  },
  {
    name: 'two windows of one record writing at once',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        const second = await scene.context.newPage();
        await openRecord(second, scene.app.url, scene.recordId);
        const many = stage.short ? 10 : 60;
        const start = scene.acknowledged.entries.size;
        for (let at = 0; at < many; at++) {
          await Promise.all([touchAny(scene.page, stage.random), touchAny(second, stage.random)]);
        }
        await scene.acknowledged.reach(start + 2 * many, 30_000);
        await scene.page.waitForTimeout(500);
        const [here, there] = [await shownNow(scene.page), await shownNow(second)];
        expectThat(
          scene.outcome,
          [...here.keys()].join() === [...there.keys()].join(),
          'the two windows show different lists',
        );
        await second.close();
        await scene.reopen();
        await scene.check('two windows');
        const file = await storedRecord(scene.page, scene.recordId);
        scene.outcome.told = `both windows show all; ${file?.events.length} events in one chain`;
      }),
  },
];
