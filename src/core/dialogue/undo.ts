import type { Entry } from '../entry.ts';
import type { EventBody, LogEvent } from '../log/events.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import data from './landmarks.json';
import { newestMade } from './newest.ts';
import type { Shown } from './shown.ts';

const LANDMARKS: ReadonlySet<string> = new Set(data.landmarks);

/** Whether the clocks of the live screen run from an entry of this code or stop at it. */
export const isLandmark = ({ code }: Entry): boolean => LANDMARKS.has(code);

/** What "undo" would do, and to which entries. */
export interface Undo {
  does: 'strike' | 'restore' | 'change-back' | 'move-back' | 'withdraw' | 'ask-again' | 'unmark';
  entries: Entry[];
  /** What brings it about; for a landmark the question whether to. */
  bodies: EventBody[];
  /** True where a landmark would go: it is asked about first. */
  asks: boolean;
}

/**
 * What "undo" does while the strip shows `shown`: it takes that back, whoever made it, and nothing else. Said again
 * it takes back the undo. Null where the strip shows nothing that can be taken back, or where somebody has changed
 * it since.
 */
export function undoOf(shown: Shown, view: RecordView, newId: () => string, atMs: number): Undo | null {
  switch (shown.kind) {
    case 'empty':
    case 'paused':
      return null;
    case 'question': {
      const { question } = shown;
      if (question.state !== 'open') return null;
      const bodies: EventBody[] = [{ kind: 'reject', questionId: question.questionId }];
      return { does: 'withdraw', entries: question.entries, bodies, asks: false };
    }
    case 'withdrawn': {
      const { question } = shown;
      if (question.state !== 'rejected') return null;
      const bodies: EventBody[] = [{ kind: 'ask-again', questionId: question.questionId }];
      return { does: 'ask-again', entries: question.entries, bodies, asks: false };
    }
    case 'marked':
      return {
        does: 'unmark',
        entries: [],
        bodies: [{ kind: 'unmark', markId: shown.markId }],
        asks: false,
      };
    case 'struck': {
      const entries = shown.entries.filter(({ status }) => status === 'struck');
      if (entries.length === 0) return null;
      const bodies: EventBody[] = entries.map(({ entryId }) => ({ kind: 'restore', entryId }));
      return { does: 'restore', entries: entries.map(({ entry }) => entry), bodies, asks: false };
    }
    case 'answer': {
      // "Read back" shows the entry made last, and "undo" is then about that one.
      if (shown.asked.code !== 'read-back') return null;
      const last = newestMade(view, (entry) => entry.madeAtMs <= shown.asked.atMs);
      return last === null ? null : strike([last], newId, atMs);
    }
    case 'logged':
      return undoLogged(shown, view, newId, atMs);
  }
}

/** Strikes out these entries, or asks whether to where one of them is a landmark. */
export function strike(found: readonly EntryView[], newId: () => string, atMs: number): Undo {
  const entries = found.map(({ entry }) => entry);
  const ids = found.map(({ entryId }) => entryId);
  if (!entries.some(isLandmark)) {
    const bodies: EventBody[] = ids.map((entryId) => ({ kind: 'strike', entryId }));
    return { does: 'strike', entries, bodies, asks: false };
  }
  const question: EventBody = {
    kind: 'question',
    questionId: newId(),
    entries,
    problem: 'unclear',
    strikes: ids,
    atMs,
    timing: 'heard',
  };
  return { does: 'strike', entries, bodies: [question], asks: true };
}

function undoLogged(
  shown: Extract<Shown, { kind: 'logged' }>,
  view: RecordView,
  newId: () => string,
  atMs: number,
): Undo | null {
  // What somebody has changed since is not what the strip showed.
  const same = shown.entries.filter(
    ({ status, history }) => status === 'logged' && history.at(-1)! <= shown.seq,
  );
  const [first] = same;
  if (first === undefined) return null;
  const { entryId, entry } = first;
  const before = first.changes.find(({ seq }) => seq === shown.seq);
  const kind = eventAt(view, shown.seq)?.kind;
  if ((kind === 'replace' || kind === 'confirm') && before) {
    const body = { kind: 'replace', entryId, entry: before.entry } as const;
    if (!isLandmark(entry) || entry.code === before.entry.code)
      return { does: 'change-back', entries: [before.entry], bodies: [body], asks: false };
    const bodies: EventBody[] = [askInstead(before.entry, entryId, newId, atMs)];
    return { does: 'change-back', entries: [before.entry], bodies, asks: true };
  }
  if (kind === 'shift' && before) {
    const estimated = before.estimated ? ({ estimated: true } as const) : {};
    const bodies: EventBody[] = [{ kind: 'shift', entryId, atMs: before.atMs, ...estimated }];
    return { does: 'move-back', entries: [entry], bodies, asks: false };
  }
  return strike(same, newId, atMs);
}

/** Whether `entry` should stand in the place of the landmark `replaces`. */
export const askInstead = (
  entry: Entry,
  replaces: string,
  newId: () => string,
  atMs: number,
  utteranceId?: string,
): EventBody => ({
  kind: 'question',
  questionId: newId(),
  ...(utteranceId === undefined ? {} : { utteranceId }),
  entries: [entry],
  problem: 'unclear',
  replaces,
  atMs,
  timing: 'heard',
});

const eventAt = (view: RecordView, seq: number): LogEvent | undefined =>
  view.events[seq]?.seq === seq ? view.events[seq] : view.events.find((event) => event.seq === seq);
