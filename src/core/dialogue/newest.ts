import type { EntryView, RecordView } from '../log/view.ts';

/** A correction prefers an entry that fits its words if made this shortly before. Project choice. */
export const SAME_CODE_BACK_MS = 60_000;

/** Number of the event that put the entry into the log. */
export const madeSeq = (entry: EntryView): number =>
  entry.confirmedBy === undefined ? entry.history[0]! : entry.history[1]!;

/** The entry that was made last (not the one that happened last) of those that stand and fit. */
export function newestMade(view: RecordView, fits: (entry: EntryView) => boolean): EntryView | null {
  let newest: EntryView | null = null;
  for (const entry of view.entries) {
    if (entry.status !== 'logged' || !fits(entry)) continue;
    if (newest === null || madeSeq(entry) > madeSeq(newest)) newest = entry;
  }
  return newest;
}
