import type { BrowserContext } from 'playwright-core';
import { expectThat, type Fault } from './campaign.ts';
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

export const STORAGE_FAULTS: Fault[] = [
  {
    name: 'storage full (quota reached by a filler)',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        const { usage } = await scene.page.evaluate(() => navigator.storage.estimate());
        await setQuota(scene.context, scene.app.url, usage! + 3_000_000);
        await fillUp(scene);
        // The last few bytes: other sites fill the disk too, and the share of this one shrinks below what it uses.
        await setQuota(scene.context, scene.app.url, 1_000);
        await scene.add(4);
        const notice = scene.page.locator(KEEPING);
        // Chromium may still find room for a few hundred bytes; then every entry must simply be on the device.
        const held = (await notice.count()) > 0;
        scene.outcome.told = held
          ? await told(scene.page)
          : 'nothing: the browser still found room for each entry';
        await scene.check('full', held ? 'any' : 'intact');
        if (held) {
          const offered = await notice.locator('button').first().isVisible();
          expectThat(scene.outcome, offered, 'no download was offered');
        }
        await scene.page.evaluate(() => void indexedDB.deleteDatabase('filler'));
        await setQuota(scene.context, scene.app.url);
        await scene.page.waitForFunction((notice) => !document.querySelector(notice), KEEPING, {
          timeout: 40_000,
        });
        await scene.reopen();
        await scene.check('room again');
      }),
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
          const download = scene.page.waitForEvent('download', { timeout: 5_000 });
          await scene.page.locator(`${KEEPING} button`).first().click();
          expectThat(
            scene.outcome,
            (await download).suggestedFilename().endsWith('.json'),
            'no download came',
          );
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
        scene.outcome.told = 'nothing: the window wrote the whole record again with the next entry';
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
