import type { EventBody } from '../../src/core/log/events.ts';
import { expectThat, type Fault } from './campaign.ts';
import { storedRecord, told } from './drive.ts';
import { Scene } from './scene.ts';

const HOUR_MS = 3_600_000;

/**
 * Lets a fault move the page's wall clock, and with `monotonicMs` its monotonic clock too (hours that passed
 * while nothing happened). Windows opened later start with the same shift.
 */
async function makeClocksMovable(scene: Scene, startIso?: string): Promise<void> {
  await scene.context.addInitScript(
    (startMs) => {
      const RealDate = Date;
      const realNow = RealDate.now.bind(RealDate);
      const realPerformance = performance.now.bind(performance);
      const clocks = { wallMs: startMs === null ? 0 : startMs - realNow(), monotonicMs: 0 };
      (window as unknown as { clocks: typeof clocks }).clocks = clocks;
      const now = () => realNow() + clocks.wallMs;
      window.Date = new Proxy(RealDate, {
        construct: (target, args) => Reflect.construct(target, args.length === 0 ? [now()] : args) as object,
        apply: () => new RealDate(now()).toString(),
        get: (target, name) => (name === 'now' ? now : Reflect.get(target, name)),
      });
      performance.now = () => realPerformance() + clocks.monotonicMs;
    },
    startIso === undefined ? null : Date.parse(startIso),
  );
}

const moveClocks = (scene: Scene, wallMs: number, monotonicMs = 0) =>
  scene.page.evaluate(
    ([wall, monotonic]) => {
      const { clocks } = window as unknown as { clocks: { wallMs: number; monotonicMs: number } };
      clocks.wallMs += wall!;
      clocks.monotonicMs += monotonic!;
    },
    [wallMs, monotonicMs],
  );

/** Record times of the touch entries in order: what every interval is made of. */
async function entryTimes(scene: Scene): Promise<number[]> {
  const file = await storedRecord(scene.page, scene.recordId);
  const entries = (file?.events ?? []).filter(
    (event): event is Extract<EventBody, { kind: 'entry' }> & (typeof file & {})['events'][number] =>
      event.kind === 'entry',
  );
  return entries.map(({ atMs }) => atMs);
}

/** The longest gap between one entry and the next, seconds. */
function longestGapSeconds(times: readonly number[]): number {
  return Math.max(...times.slice(1).map((atMs, at) => Math.abs(atMs - times[at]!) / 1000));
}

export const CLOCK_FAULTS: Fault[] = [
  {
    name: 'system clock moved forward and back by hours',
    short: true,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          for (const hours of stage.short ? [5, -9] : [5, -9, 1, -1, 26, -48]) {
            await moveClocks(scene, hours * HOUR_MS);
            await scene.add(1);
            await scene.check(`${hours} h`);
          }
          const gap = longestGapSeconds(await entryTimes(scene));
          expectThat(scene.outcome, gap < 60, `an interval took over the jump: ${gap.toFixed(1)} s`);
          scene.outcome.told = `times stay on the record’s own clock; longest gap between entries ${gap.toFixed(1)} s`;
        },
        { prepare: (scene) => makeClocksMovable(scene) },
      ),
  },
  {
    name: 'daylight-saving change in the middle',
    short: true,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await moveClocks(scene, 60_000, 60_000);
          await scene.add(2);
          await scene.check('summer time');
          const gap = longestGapSeconds(await entryTimes(scene));
          expectThat(scene.outcome, gap > 59 && gap < 90, `a minute was kept as ${gap.toFixed(1)} s`);
          const times = await scene.page.locator('[data-entry] .time').allInnerTexts();
          const hours = [...new Set(times.map((time) => /\d+/.exec(time)?.[0] ?? '?'))].sort();
          expectThat(
            scene.outcome,
            hours.join() === '00,02',
            `clock times should go from 00:59 to 02:00, hours shown: ${hours.join()}`,
          );
          scene.outcome.told = `clock times ${times.at(-1)} → ${times[0]}; the minute between stays a minute`;
        },
        {
          launch: { timeZone: 'Europe/London' },
          // Clocks in the United Kingdom go forward at 01:00 UTC on the last Sunday in March (IANA tz database).
          prepare: (scene) => makeClocksMovable(scene, '2026-03-29T00:59:30Z'),
        },
      ),
  },
  {
    name: '8 hours idle, then a call-out',
    short: true,
    run: (stage) =>
      Scene.play(
        stage,
        async (scene) => {
          await moveClocks(scene, 8 * HOUR_MS, 8 * HOUR_MS);
          await scene.page.waitForTimeout(1_500);
          await scene.goesOn('8 h');
          await scene.check('8 h');
          const gap = longestGapSeconds(await entryTimes(scene)) / 3600;
          expectThat(scene.outcome, Math.abs(gap - 8) < 0.01, `8 hours were kept as ${gap.toFixed(3)} h`);
          await scene.reopen();
          await scene.check('8 h, opened again');
          scene.outcome.told =
            (await told(scene.page)) || `the entry stands ${gap.toFixed(2)} h after the one before`;
        },
        { prepare: (scene) => makeClocksMovable(scene) },
      ),
  },
];
