import bounds from './time-bounds.json' with { type: 'json' };
import type { RecordView } from './view.ts';

const HOUR_MS = 3_600_000;
export const DAY_MS = 24 * HOUR_MS;
/** A device whose clock was lost may place a restart decades after the beginning; more is damage. */
export const LONGEST_MS = 100 * 366 * DAY_MS;

/** Record times of the births that stand in the log, ms; several for twins. */
export const birthsMs = ({ entries }: RecordView): number[] =>
  entries
    .filter(({ status, entry }) => status === 'logged' && entry.code === bounds.birth)
    .map(({ atMs }) => atMs);

/** What the times of a record are held against: the birth of the baby, or else the record's beginning. */
const birthMs = (view: RecordView): number => birthsMs(view)[0] ?? 0;

/**
 * Whether a record time belongs to the birth: within 24 hours of it. What lies outside (a conversation days later, a
 * result that came late) stands in the record with its date, and not on the timeline. The 24 hours are a project limit,
 * no clinical one.
 */
export const aroundBirth = (view: RecordView, atMs: number): boolean =>
  Math.abs(atMs - birthMs(view)) <= bounds.hours * HOUR_MS;
