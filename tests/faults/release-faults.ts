import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { buildServiceWorker } from '../../src/build/service-worker-plugin.ts';
import { expectThat, type Fault } from './campaign.ts';
import { Scene } from './scene.ts';

const releaseShown = (scene: Scene) =>
  scene.page.evaluate(() => document.documentElement.dataset['release'] ?? 'first');

export const RELEASE_FAULTS: Fault[] = [
  {
    name: 'a new version of the app arrives in the middle',
    short: false,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await scene.page.evaluate(async () => void (await navigator.serviceWorker.ready));
          const index = join(scene.app.folder, 'index.html');
          writeFileSync(index, readFileSync(index, 'utf8').replace('<html ', '<html data-release="second" '));
          await buildServiceWorker(scene.app.folder);
          await scene.page.evaluate(async () => void (await (await navigator.serviceWorker.ready).update()));
          await scene.page.waitForTimeout(2_000);
          await scene.goesOn('update');
          await scene.reopen();
          expectThat(scene.outcome, (await releaseShown(scene)) === 'first', 'a reload changed the version');
          await scene.check('update, reloaded');
          await scene.browser.kill();
          await scene.launch();
          await scene.reopen();
          expectThat(scene.outcome, (await releaseShown(scene)) === 'first', 'a restart changed the version');
          await scene.check('update, browser restarted');
          await scene.page.goto(`${scene.app.url}#/settings`);
          const waits = scene.page.getByText(/^A new version is here/);
          await waits.waitFor({ timeout: 15_000 }).catch(() => {});
          scene.outcome.told = (await waits.count()) > 0 ? await waits.first().innerText() : '';
          expectThat(scene.outcome, scene.outcome.told !== '', 'nothing was said of the new version');
        },
        { own: true },
      ),
  },
];
