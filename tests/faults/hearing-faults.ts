import { readdirSync, rmSync, statSync, truncateSync, openSync, writeSync, closeSync } from 'node:fs';
import { join } from 'node:path';
import { expectThat, type Fault } from './campaign.ts';
import { told } from './drive.ts';
import { Scene } from './scene.ts';

const FAKE_MICROPHONE = ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'];

function largestModel(folder: string): string {
  const files = readdirSync(join(folder, 'models'), { recursive: true, encoding: 'utf8' });
  const sized = files
    .filter((name) => name.endsWith('.onnx'))
    .map((name) => join(folder, 'models', name))
    .sort((a, b) => statSync(b).size - statSync(a).size);
  return sized[0]!;
}

const MODEL_DAMAGE: [string, (file: string) => void][] = [
  ['missing', (file) => rmSync(file)],
  ['cut', (file) => truncateSync(file, Math.floor(statSync(file).size / 2))],
  [
    'altered',
    (file) => {
      const open = openSync(file, 'r+');
      writeSync(open, Buffer.from([0x55]), 0, 1, Math.floor(statSync(file).size / 3));
      closeSync(open);
    },
  ],
];

/** Lets a fault pull out the microphone that the page has opened, and put it back. */
async function makeMicrophoneMovable(scene: Scene): Promise<void> {
  await scene.context.addInitScript(() => {
    const { mediaDevices } = navigator;
    const real = mediaDevices.getUserMedia.bind(mediaDevices);
    const tracks: MediaStreamTrack[] = [];
    const plug = { out: false };
    mediaDevices.getUserMedia = async (wishes) => {
      if (plug.out) throw new DOMException('Requested device not found', 'NotFoundError');
      const stream = await real(wishes);
      tracks.push(...stream.getTracks());
      return stream;
    };
    (window as unknown as { pull: (out: boolean) => void }).pull = (out) => {
      plug.out = out;
      if (out) {
        for (const track of tracks.splice(0)) {
          track.stop();
          track.dispatchEvent(new Event('ended'));
        }
      }
      mediaDevices.dispatchEvent(new Event('devicechange'));
    };
  });
}

const pull = (scene: Scene, out: boolean) =>
  scene.page.evaluate((value) => (window as unknown as { pull: (out: boolean) => void }).pull(value), out);

const noticeGone = (scene: Scene) =>
  scene.page.waitForFunction(() => !document.querySelector('[role=alert]'), null, { timeout: 40_000 });

export const HEARING_FAULTS: Fault[] = [
  ...MODEL_DAMAGE.map(([how, damage]): Fault => ({
    name: `speech model file ${how}`,
    short: how === 'altered',
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await scene.page
            .waitForFunction(
              () => /speech model/i.test(document.querySelector('[role=alert]')?.textContent ?? ''),
              null,
              { timeout: 40_000 },
            )
            .catch(() => {});
          scene.outcome.told = await told(scene.page);
          expectThat(
            scene.outcome,
            /speech model/i.test(scene.outcome.told),
            'nothing was said of the model',
          );
          await scene.goesOn('model');
          await scene.reopen();
          await scene.check('model');
        },
        {
          own: true,
          launch: { args: FAKE_MICROPHONE },
          prepare: async ({ app }) => damage(largestModel(app.folder)),
        },
      ),
  })),
  {
    name: 'microphone unplugged and back',
    short: false,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await noticeGone(scene);
          await pull(scene, true);
          await scene.page.locator('[role=alert]').first().waitFor();
          scene.outcome.told = await told(scene.page);
          await scene.goesOn('unplugged');
          await scene.check('unplugged');
          await pull(scene, false);
          await noticeGone(scene).catch(() =>
            expectThat(scene.outcome, false, 'hearing did not come back with the microphone'),
          );
          await scene.goesOn('plugged in');
          await scene.check('plugged in');
        },
        { launch: { args: FAKE_MICROPHONE }, prepare: makeMicrophoneMovable },
      ),
  },
  {
    name: 'speech worker killed',
    short: false,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await noticeGone(scene);
          const workers = scene.page.workers();
          expectThat(scene.outcome, workers.length > 0, 'no worker was found to kill');
          for (const worker of workers) await worker.evaluate(() => self.close()).catch(() => {});
          await scene.page.waitForTimeout(3_000);
          scene.outcome.told = (await told(scene.page)) || 'nothing within 3 s; entries by touch go on';
          await scene.goesOn('worker');
          await scene.reopen();
          await scene.check('worker');
        },
        { launch: { args: FAKE_MICROPHONE } },
      ),
  },
];
