import { cpSync, readdirSync, statSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import type { Fault } from './campaign.ts';
import { KillableBrowser } from './chromium.ts';
import { touchUntilGone } from './drive.ts';
import { Scene } from './scene.ts';

const KILLS = { short: 4, full: 60 };
const POWER_CUTS = { short: 2, full: 12 };

/** Where the database's write-ahead logs end: what a flush has put on the disk by now. */
function logSizes(folder: string): Map<string, number> {
  const files = readdirSync(folder, { recursive: true, encoding: 'utf8' });
  return new Map(
    files.filter((name) => /\d+\.log$/.test(name)).map((name) => [name, statSync(join(folder, name)).size]),
  );
}

export const PROCESS_FAULTS: Fault[] = [
  {
    name: 'browser killed (SIGKILL) at a random moment of a running record',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        const kills = stage.short ? KILLS.short : KILLS.full;
        for (let at = 0; at < kills; at++) {
          const touching = touchUntilGone(scene.page, stage.random);
          await new Promise((done) => setTimeout(done, stage.random.between(150, 1_500)));
          await scene.browser.kill();
          await touching;
          await scene.launch();
          await scene.reopen();
          await scene.check(`kill ${at + 1}`);
        }
        await scene.tellsGaps();
      }),
  },
  {
    name: 'power cut during a write: unflushed part of the database torn off',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        let tornBytes = 0;
        const cuts = stage.short ? POWER_CUTS.short : POWER_CUTS.full;
        for (let at = 0; at < cuts; at++) {
          await scene.add(2);
          const flushed = logSizes(scene.browser.databaseFolder());
          const before = new Map(scene.acknowledged.entries);
          const touching = touchUntilGone(scene.page, stage.random);
          await new Promise((done) => setTimeout(done, stage.random.between(5, 300)));
          scene.browser.freeze();
          const copy = new KillableBrowser();
          const plain = (path: string) => !/Singleton/.test(path);
          cpSync(scene.browser.profile, copy.profile, { recursive: true, filter: plain });
          await scene.browser.forget();
          await touching;
          for (const [name, size] of logSizes(copy.databaseFolder())) {
            const kept = Math.min(flushed.get(name) ?? size, size);
            const left = Math.floor(stage.random.between(kept, size));
            truncateSync(join(copy.databaseFolder(), name), left);
            tornBytes += size - left;
          }
          // What was shown after the measured flush may be torn off here though the disk had it.
          scene.acknowledged.restart(before);
          scene.browser = copy;
          await scene.launch();
          await scene.reopen();
          await scene.check(`cut ${at + 1}`);
        }
        await scene.tellsGaps();
        scene.outcome.told = `${tornBytes} bytes torn off; ${scene.outcome.told}`;
      }),
  },
  {
    name: 'tab crashed',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        const session = await scene.context.newCDPSession(scene.page);
        const gone = scene.page.waitForEvent('crash');
        session.send('Page.crash').catch(() => {});
        await gone;
        scene.page = await scene.context.newPage();
        await scene.reopen();
        await scene.check('crash');
        await scene.goesOn('crash');
        await scene.tellsGaps();
      }),
  },
  {
    name: 'page reloaded',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        for (let at = 0; at < (stage.short ? 1 : 5); at++) {
          await scene.page.reload();
          await scene.reopen();
          await scene.check('reload');
          await scene.goesOn('reload');
        }
        await scene.tellsGaps();
      }),
  },
  {
    name: 'window closed in the middle of a touch',
    short: true,
    run: (stage) =>
      Scene.play(stage, async (scene) => {
        for (let at = 0; at < (stage.short ? 1 : 5); at++) {
          const touching = touchUntilGone(scene.page, stage.random);
          await new Promise((done) => setTimeout(done, stage.random.between(50, 500)));
          const next = await scene.context.newPage();
          await scene.page.close({ runBeforeUnload: false });
          await touching;
          scene.page = next;
          await scene.reopen();
          await scene.check('close');
        }
        await scene.page.goto(scene.app.url);
        const offer = scene.page.locator('.go-on');
        await offer.waitFor();
        scene.outcome.told = await offer.innerText();
      }),
  },
];
