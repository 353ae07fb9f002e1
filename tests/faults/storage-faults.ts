import type { BrowserContext } from 'playwright-core';
import { expectThat, type Fault } from './campaign.ts';
import { openRecord, storedRecord, told, touchAny, shownNow } from './drive.ts';
import { Scene } from './scene.ts';

/** The notice that the record is in memory only, with its download. */
const KEEPING = '.keeping';

async function setQuota(context: BrowserContext, url: string, quotaSize?: number): Promise<void> {
  const { origin } = new URL(url);
  const page = context.pages()[0]!;
  const session = await context.newCDPSession(page);
  await session.send('Storage.overrideQuotaForOrigin', {
    origin,
    ...(quotaSize === undefined ? {} : { quotaSize }),
  });
  await session.detach();
}

/** Fills what is left of the quota with a cache, in ever smaller pieces. */
const fillUp = (scene: Scene) =>
  scene.page.evaluate(async () => {
    const cache = await caches.open('filler');
    for (let bytes = 1 << 20, at = 0; bytes >= 256;) {
      try {
        await cache.put(`/filler/${at++}`, new Response(new Uint8Array(bytes)));
      } catch {
        bytes >>= 1;
      }
    }
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
        await scene.add(4);
        scene.outcome.told = await told(scene.page);
        expectThat(scene.outcome, scene.outcome.told !== '', 'nothing was said of the full storage');
        await scene.check('full', 'any');
        expectThat(
          scene.outcome,
          await scene.page.locator(`${KEEPING} button`).first().isVisible(),
          'no download was offered',
        );
        await scene.page.evaluate(() => caches.delete('filler'));
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
