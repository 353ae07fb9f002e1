import { dateOf, shownWallMs, timeOfDay, wallMsAt } from '../../core/log/clock.ts';
import type { RecordView } from '../../core/log/view.ts';
import { roomTime } from '../common/times.ts';

const DAY_MS = 86_400_000;

/** "2026-03-05" of a record time. */
export const roomDate = (view: RecordView, atMs: number): string =>
  dateOf(view.timeZone, shownWallMs(view, atMs));

/** "14:02:10" by the room's clock, with the date before it where that is another day than the record's first. */
export function roomMoment(view: RecordView, atMs: number): string {
  const date = roomDate(view, atMs);
  return date === roomDate(view, 0) ? roomTime(view, atMs) : `${date} ${roomTime(view, atMs)}`;
}

/** "14:02:10" by the device's own clock, without the difference to the room's. */
export const deviceTime = (view: RecordView, atMs: number): string =>
  timeOfDay(view.timeZone, wallMsAt(view.spans, atMs));

/** "12:04.3": a place in the recorded sound, minutes, seconds and tenths from the record's beginning. */
export function soundPlace(ms: number): string {
  const tenths = Math.round(ms / 100);
  const seconds = Math.floor(tenths / 10);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}.${tenths % 10}`;
}

/** The moment that typed times are sought near: the birth, or else the last that was heard or logged. */
export function anchorMs(view: RecordView, nowMs: number): number {
  const born = view.entries.find(
    ({ status, entry }) => status === 'logged' && entry.code === 'body-delivered',
  );
  const heard = view.utterances.at(-1)?.onsetMs ?? view.entries.at(-1)?.atMs;
  return Math.min(born?.atMs ?? heard ?? nowMs, nowMs);
}

export type TypedTime =
  { kind: 'empty' } | { kind: 'time'; atMs: number; estimated: boolean } | { kind: 'refused' };

/**
 * Record time of a typed "HH:MM" or "HH:MM:SS" by the room's clock, on the day nearest to `nearMs`.
 * Known only to the minute it counts as estimated.
 */
export function typedTime(view: RecordView, typed: string, nearMs: number): TypedTime {
  const clean = typed.trim();
  if (clean === '') return { kind: 'empty' };
  const match = /^(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?$/.exec(clean);
  if (!match) return { kind: 'refused' };
  const [hour, minute, second] = [Number(match[1]), Number(match[2]), Number(match[3] ?? 0)];
  if (hour > 23 || minute > 59 || second > 59) return { kind: 'refused' };
  const near = roomTime(view, nearMs).split(':').map(Number) as [number, number, number];
  const nearSeconds = near[0] * 3600 + near[1] * 60 + near[2];
  let difference = (hour * 3600 + minute * 60 + second - nearSeconds) * 1000;
  if (difference > DAY_MS / 2) difference -= DAY_MS;
  if (difference < -DAY_MS / 2) difference += DAY_MS;
  // Whole seconds of the clock face, not of the record: what was typed is what is shown again.
  const partOfSecond = ((shownWallMs(view, nearMs) % 1000) + 1000) % 1000;
  return { kind: 'time', atMs: nearMs - partOfSecond + difference, estimated: match[3] === undefined };
}
