import { shownWallMs, timeOfDay, type RecordClock } from '../log/clock.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import { partedMs } from './parted-clocks.ts';
import type { IntervalValue, TimeMark } from './types.ts';

/** Entries that stand, in time order; of one code where it is given. */
export function logged(view: RecordView, code?: string): EntryView[] {
  return view.entries.filter((e) => e.status === 'logged' && (code === undefined || e.entry.code === code));
}

/** "14:02:10" by the clock that people read. */
export const clockText = (view: RecordView, atMs: number): string =>
  timeOfDay(view.timeZone, shownWallMs(view, atMs));

/** "0:07", "12:04", "1:02:03", or "−0:30" before zero: the one way in which a length of whole seconds is written. */
export function minutesSeconds(seconds: number): string {
  const size = Math.abs(Math.trunc(seconds));
  const two = (n: number) => String(n).padStart(2, '0');
  const minutes = Math.floor(size / 60);
  const clock = minutes < 60 ? String(minutes) : `${Math.floor(minutes / 60)}:${two(minutes % 60)}`;
  return `${seconds < 0 && size > 0 ? '\u2212' : ''}${clock}:${two(size % 60)}`;
}

/** Whole seconds of a length that lies in no record, such as a script's. @param ms length, ms. */
export const wholeSeconds = (ms: number): number => Math.trunc(ms / 1000);

/**
 * Whole second of a record time as clocks show it. Lengths are differences of these, so that a reader
 * who subtracts the printed times gets the printed length; a length is within 1 s of the exact one.
 */
export function secondOf(clock: RecordClock, atMs: number): number {
  const phaseMs = shownWallMs(clock, clock.spans[0]!.startMs) - clock.spans[0]!.startMs;
  return Math.floor((atMs + phaseMs) / 1000);
}

/**
 * Seconds from one record time to another: the one rounding of every length that a screen, the note, a list, the
 * debrief or an export tells.
 */
export const secondsBetween = (clock: RecordClock, fromMs: number, toMs: number): number =>
  secondOf(clock, toMs) - secondOf(clock, fromMs);

/** "3:15" from one record time to another. */
export const lengthBetween = (clock: RecordClock, fromMs: number, toMs: number): string =>
  minutesSeconds(secondsBetween(clock, fromMs, toMs));

/** A known length of time, with the device clock's figure where the two clocks parted in between. */
export function knownLength(view: RecordView, fromMs: number, toMs: number): IntervalValue {
  const seconds = secondsBetween(view, fromMs, toMs);
  const parted = partedMs(view, fromMs, toMs);
  const other = parted === 0 ? {} : { byDeviceClockSeconds: seconds + Math.round(parted / 1000) };
  return { kind: 'known', ms: toMs - fromMs, seconds, ...other };
}

/** "3:15", or "4:10 or 24:10" where the clocks parted in between. */
export const knownText = (value: Extract<IntervalValue, { kind: 'known' }>): string =>
  value.byDeviceClockSeconds === undefined
    ? minutesSeconds(value.seconds)
    : `${minutesSeconds(value.seconds)} or ${minutesSeconds(value.byDeviceClockSeconds)}`;

/** What is to be said of the times of these entries. */
export function timeMarks(view: RecordView, entries: readonly EntryView[]): TimeMark[] {
  const marks: TimeMark[] = [];
  if (entries.some((e) => e.estimated)) marks.push('estimated');
  if (entries.some((e) => e.timing === 'corrected')) marks.push('corrected');
  if (entries.some((e) => e.timing === 'typed')) marks.push('typed later');
  const spans = new Set(entries.map((e) => spanIndex(view, e.atMs)));
  if (spans.size > 1) marks.push('across a restart');
  const times = entries.map((e) => e.atMs);
  if (partedMs(view, Math.min(...times), Math.max(...times)) !== 0)
    marks.push('two figures: the device slept or its clock was set in between');
  return marks;
}

const spanIndex = (view: RecordView, atMs: number): number =>
  Math.max(0, view.spans.filter((span) => span.startMs <= atMs).length - 1);

/** "senior-obstetrician" → "senior obstetrician": a role as it stands in a sentence. */
export const roleInWords = (role: string | undefined): string => role?.replaceAll('-', ' ') || 'person';
