import { readdirSync, rmSync, statSync, truncateSync, openSync, writeSync, closeSync } from 'node:fs';
import { join } from 'node:path';
import { expectThat, type Fault } from './campaign.ts';
import { storedRecord, told } from './drive.ts';
import { Scene } from './scene.ts';

/** An invented birth, spoken; it begins again at its end. */
const SPEAKING = [
  '--use-fake-device-for-media-stream',
  '--use-fake-ui-for-media-stream',
  `--use-file-for-fake-audio-capture=${join(import.meta.dirname, '../../static/practice/posterior-arm.wav')}`,
];
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
    const plug = { out: false, hz: 0 };
    /** The same sound from a device that runs at another rate. */
    const atRate = (stream: MediaStream, sampleRate: number) => {
      const context = new AudioContext({ sampleRate });
      const out = context.createMediaStreamDestination();
      context.createMediaStreamSource(stream).connect(out);
      return out.stream;
    };
    mediaDevices.getUserMedia = async (wishes) => {
      if (plug.out) throw new DOMException('Requested device not found', 'NotFoundError');
      const stream = await real(wishes);
      const given = plug.hz > 0 ? atRate(stream, plug.hz) : stream;
      tracks.push(...given.getTracks());
      return given;
    };
    (window as unknown as { rateIs: (hz: number) => void }).rateIs = (hz) => {
      plug.hz = hz;
      (window as unknown as { pull: (out: boolean) => void }).pull(true);
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

/** Waits until so many more utterances have come into the kept record. */
async function hears(scene: Scene, more: number, what: string): Promise<void> {
  const count = async () => {
    const file = await storedRecord(scene.page, scene.recordId);
    return (file?.events ?? []).filter((event) => event.kind === 'utterance' && event.heard !== '').length;
  };
  const start = await count();
  for (let tries = 0; tries < 60; tries++) {
    if ((await count()) >= start + more) return;
    await scene.page.waitForTimeout(1_000);
  }
  expectThat(scene.outcome, false, `${what}: nothing was heard for a minute`);
}

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
          scene.outcome.told = await told(scene.page, '[role=alert]');
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
          scene.outcome.told = await told(scene.page, '[role=alert]');
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
    name: 'the microphone’s sample rate changes in the middle',
    short: false,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await hears(scene, 1, 'before');
          const said: string[] = [];
          for (const rate of stage.short ? [22_050] : [22_050, 44_100, 8_000, 96_000]) {
            await scene.page.evaluate(
              (to) => (window as unknown as { rateIs: (hz: number) => void }).rateIs(to),
              rate,
            );
            await scene.page.locator('[role=alert]').first().waitFor();
            said.push(await told(scene.page, '[role=alert]'));
            await pull(scene, false);
            await noticeGone(scene);
            await hears(scene, 1, `${rate} Hz`);
            await scene.goesOn(`${rate} Hz`);
            await scene.check(`${rate} Hz`);
          }
          scene.outcome.told = [...new Set(said)].join('; ');
          expectThat(scene.outcome, scene.outcome.told !== '', 'nothing was said while nothing was heard');
        },
        { launch: { args: SPEAKING }, prepare: makeMicrophoneMovable },
      ),
  },
  ...(['silently', 'with an error'] as const).map((how): Fault => ({
    name: `speech worker killed ${how}`,
    short: false,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await hears(scene, 1, 'before');
          const workers = scene.page.workers();
          expectThat(scene.outcome, workers.length > 0, 'no worker was found to kill');
          for (const worker of workers) {
            const killed = worker.evaluate((silent) => {
              if (silent) self.close();
              else
                setTimeout(() => {
                  throw new Error('killed');
                });
            }, how === 'silently');
            await killed.catch(() => {});
          }
          const notice = scene.page.locator('[role=alert]', { hasText: 'Speech recognition stopped' });
          await notice.waitFor({ timeout: 20_000 }).catch(() => {});
          scene.outcome.told = (await notice.count()) > 0 ? (await notice.innerText()).trim() : '';
          expectThat(scene.outcome, scene.outcome.told !== '', 'nothing was said of the stopped recogniser');
          await scene.goesOn('worker');
          await noticeGone(scene).catch(() => expectThat(scene.outcome, false, 'hearing did not come back'));
          await hears(scene, 2, 'after');
          await scene.reopen();
          await scene.check('worker');
        },
        { launch: { args: SPEAKING } },
      ),
  })),
];
