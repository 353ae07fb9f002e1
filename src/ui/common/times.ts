import { shownWallMs, timeOfDay, type RecordClock } from '../../core/log/clock.ts';

/** "14:02:10": a record time by the clock that people in the room read. */
export function roomTime(clock: RecordClock, atMs: number): string {
  return timeOfDay(clock.timeZone, shownWallMs(clock, atMs));
}

/** Megabytes with one decimal, as downloads are told: "12.4". */
export const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(1);
