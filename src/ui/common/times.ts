import { shownWallMs, timeOfDay, type RecordClock } from '../../core/log/clock.ts';

/** A span as people read it from a clock: "0:07", "12:04", "1:02:03"; a span backwards has a minus. */
export function minutesSeconds(ms: number): string {
  const seconds = Math.floor(Math.abs(ms) / 1000);
  const two = (n: number) => String(n).padStart(2, '0');
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  const clock = hours > 0 ? `${hours}:${two(minutes)}` : `${minutes}`;
  return `${ms < 0 && seconds > 0 ? '−' : ''}${clock}:${two(seconds % 60)}`;
}

/** "14:02:10": a record time by the clock that people in the room read. */
export function roomTime(clock: RecordClock, atMs: number): string {
  return timeOfDay(clock.timeZone, shownWallMs(clock, atMs));
}

/** Megabytes with one decimal, as downloads are told: "12.4". */
export const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(1);
