import { clockText, logged, minutesSeconds, secondsBetween } from '../facts/logged.ts';
import { partedMs } from '../facts/parted-clocks.ts';
import { dateOf, isoWithOffset, shownWallMs } from '../log/clock.ts';
import type { RecordView } from '../log/view.ts';
import { NOT_RECORDED } from './model.ts';

/** A view never changes, and every line of a note asks for the head. */
const heads = new WeakMap<RecordView, number | null>();

/** Record time of the birth of the head, where exactly one is logged. */
export function headMs(view: RecordView): number | null {
  const known = heads.get(view);
  if (known !== undefined) return known;
  const found = logged(view, 'head-delivered');
  const atMs = found.length === 1 ? found[0]!.atMs : null;
  heads.set(view, atMs);
  return atMs;
}

/** "3:15", "0:30 before", or "not recorded" where the birth of the head has no single time. */
export function fromHead(view: RecordView, atMs: number): string {
  const head = headMs(view);
  if (head === null) return NOT_RECORDED;
  const seconds = secondsBetween(view, head, atMs);
  const parted = Math.round(partedMs(view, head, atMs) / 1000);
  if (seconds < 0)
    return `${minutesSeconds(-seconds)}${parted === 0 ? '' : ` or ${minutesSeconds(parted - seconds)}`} before`;
  return parted === 0
    ? minutesSeconds(seconds)
    : `${minutesSeconds(seconds)} or ${minutesSeconds(seconds + parted)}`;
}

/** The day of a record time by the clock that people read, "2026-03-05". */
export const dateOfTime = (view: RecordView, atMs: number): string =>
  dateOf(view.timeZone, shownWallMs(view, atMs));

/** The day on which the record began, "2026-03-05". */
export const firstDate = (view: RecordView): string => dateOfTime(view, view.spans[0]!.startMs);

/** "14:02:10", or "00:02:05 (6 Mar)" where the day is another than that of the record's beginning. */
export function timeText(view: RecordView, atMs: number): string {
  const date = dateOfTime(view, atMs);
  const clock = clockText(view, atMs);
  return date === firstDate(view) ? clock : `${clock} (${shortDate(date)})`;
}

const HALF_DAY_MS = 12 * 3_600_000;
/** Whether a clock time names one moment of the record: all its entries lie within half a day. */
export function clockIsEnough({ entries, spans }: RecordView): boolean {
  const times = [spans[0]!.startMs, ...entries.map(({ atMs }) => atMs)];
  return Math.max(...times) - Math.min(...times) < HALF_DAY_MS;
}

/** As timeText, without the date where the clock names one moment. */
export const pageTime = (view: RecordView, atMs: number): string =>
  clockIsEnough(view) ? clockText(view, atMs) : timeText(view, atMs);

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];
const dayAndMonth = (date: string): [number, string] => [
  Number(date.slice(8, 10)),
  MONTHS[Number(date.slice(5, 7)) - 1]!,
];

/** "6 Mar" of "2026-03-06". */
function shortDate(date: string): string {
  const [day, month] = dayAndMonth(date);
  return `${day} ${month.slice(0, 3)}`;
}

/** "6 March 2026" of "2026-03-06". */
export function longDate(date: string): string {
  const [day, month] = dayAndMonth(date);
  return `${day} ${month} ${date.slice(0, 4)}`;
}

/** ISO 8601 with offset and milliseconds, by the clock that people read. */
export const isoText = (view: RecordView, atMs: number): string =>
  isoWithOffset(view.timeZone, shownWallMs(view, atMs));

/** "5 Mar 2026, 14:02:10" of an ISO time that carries its own offset. */
export const madeText = (madeAt: string): string =>
  `${shortDate(madeAt)} ${madeAt.slice(0, 4)}, ${madeAt.slice(11, 19)}`;

/** Length of an offset, e.g. "1 min 33 s" or "1 min 33.6 s". */
export function lengthText(ms: number): string {
  const tenths = Math.round(Math.abs(ms) / 100);
  const minutes = Math.floor(tenths / 600);
  const seconds = `${(tenths % 600) / 10} s`;
  return minutes === 0 ? seconds : `${minutes} min ${seconds}`;
}
