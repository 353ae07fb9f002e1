import type { ClockSpan } from './events.ts';

/** What is needed to show a record time by a clock. */
export interface RecordClock {
  timeZone: string;
  spans: readonly ClockSpan[];
  clockOffset: { roomMinusDeviceMs: number } | null;
}

/**
 * Device wall clock (ms since 1970 UTC) at a record time: the clock of the span that the time lies in,
 * so that a system clock changed later moves nothing. A time before the record began counts back from it.
 */
export function wallMsAt(spans: readonly ClockSpan[], atMs: number): number {
  let span = spans[0];
  if (span === undefined) throw new Error('The record holds no clock, so its times cannot be shown.');
  for (const next of spans) if (next.startMs <= atMs) span = next;
  return span.wallMs + (atMs - span.startMs);
}

const formats = new Map<string, Intl.DateTimeFormat>();
/** Wall time in UTC that a clock in the zone reads as, ms since 1970; Gregorian calendar. */
function readInZone(timeZone: string, wallMs: number): number {
  let format = formats.get(timeZone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-GB', {
      timeZone,
      calendar: 'gregory',
      numberingSystem: 'latn',
      hourCycle: 'h23',
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
      second: '2-digit',
    });
    formats.set(timeZone, format);
  }
  const p = Object.fromEntries(format.formatToParts(wallMs).map(({ type, value }) => [type, Number(value)]));
  return Date.UTC(p.year!, p.month! - 1, p.day, p.hour, p.minute, p.second);
}

const QUARTER_MS = 900_000;
const MOST_OFFSETS = 1_000;
const offsets = new Map<string, number>();
/**
 * What a zone's clock is ahead of UTC, ms. Offsets change at whole quarters of an hour (IANA tz database, since
 * 1972), and asking the browser takes long: a long record has thousands of times in a few quarters.
 */
function offsetMsAt(timeZone: string, wallMs: number): number {
  const quarterMs = Math.floor(wallMs / QUARTER_MS) * QUARTER_MS;
  const key = `${timeZone} ${quarterMs}`;
  const known = offsets.get(key);
  if (known !== undefined) return known;
  const offsetMs = readInZone(timeZone, quarterMs) - quarterMs;
  if (offsets.size >= MOST_OFFSETS) offsets.clear();
  offsets.set(key, offsetMs);
  return offsetMs;
}

/** "2026-03-05T14:02:10" of a wall time in a time zone. */
const localIso = (timeZone: string, wallMs: number): string =>
  new Date(wallMs + offsetMsAt(timeZone, wallMs)).toISOString().slice(0, 19);

/** "14:02:10" of a wall time in a time zone. */
export const timeOfDay = (timeZone: string, wallMs: number): string => localIso(timeZone, wallMs).slice(11);

/** "2026-03-05" of a wall time in a time zone. */
export const dateOf = (timeZone: string, wallMs: number): string => localIso(timeZone, wallMs).slice(0, 10);

/** Wall time of a record time as people in the room would read it: with the offset, where one was entered. */
export function shownWallMs(clock: RecordClock, atMs: number): number {
  return wallMsAt(clock.spans, atMs) + (clock.clockOffset?.roomMinusDeviceMs ?? 0);
}

/** ISO 8601 with the offset of the time zone, e.g. "2026-03-05T14:02:10.250+00:00". */
export function isoWithOffset(timeZone: string, wallMs: number): string {
  const offsetMinutes = Math.round(offsetMsAt(timeZone, wallMs) / 60_000);
  const sign = offsetMinutes < 0 ? '-' : '+';
  const two = (n: number) => String(n).padStart(2, '0');
  const size = Math.abs(offsetMinutes);
  const millis = String(Math.floor(wallMs) - Math.floor(wallMs / 1000) * 1000).padStart(3, '0');
  return `${localIso(timeZone, wallMs)}.${millis}${sign}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** How far back a spoken "HH:MM" is looked for. Project choice: longer than any emergency, shorter than 12 h. */
const SPOKEN_CLOCK_BACK_MINUTES = 180;

/**
 * Record time of a spoken "HH:MM", read by the people's clock and zone; "2:05" may mean 14:05.
 * Null where no minute of the last three hours has that name, or more than one (clocks going back).
 * One minute ahead is taken as now (two clocks rarely agree to the minute); further ahead gives null.
 */
export function recordMsOfSpokenClock(clock: RecordClock, spoken: string, onsetMs: number): number | null {
  const match = /^(\d{1,2}):(\d{2})$/.exec(spoken);
  if (match === null || Number(match[1]) > 23 || Number(match[2]) > 59) return null;
  const hour = Number(match[1]);
  const names = [hour, ...(hour === 0 || hour > 12 ? [] : [(hour % 12) + 12, hour % 12])].map(
    (h) => `${String(h).padStart(2, '0')}:${match[2]}`,
  );
  const nowWall = shownWallMs(clock, onsetMs);
  const thisMinute = Math.floor(nowWall / 60_000) * 60_000;
  const found: number[] = [];
  for (let back = -1; back <= SPOKEN_CLOCK_BACK_MINUTES; back += 1) {
    const wall = thisMinute - back * 60_000;
    if (names.includes(timeOfDay(clock.timeZone, wall).slice(0, 5))) found.push(wall);
  }
  if (found.length !== 1) return null;
  return Math.min(onsetMs, onsetMs - (nowWall - found[0]!));
}
