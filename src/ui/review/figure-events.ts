import type { Entry } from '../../core/entry.ts';
import type { EventBody, Timing } from '../../core/log/events.ts';
import type { EntryView, RecordView } from '../../core/log/view.ts';

export interface EntryTime {
  atMs: number;
  timing: Timing;
  estimated: boolean;
}

/** Logged entries of a code that agree with these slots, in time order. */
export function loggedOf(view: RecordView, code: string, fixed: Partial<Entry> = {}): EntryView[] {
  return view.entries.filter(
    ({ entry, status }) =>
      status === 'logged' &&
      entry.code === code &&
      Object.entries(fixed).every(([slot, value]) => entry[slot as keyof Entry] === value),
  );
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);
const aside = new Set(['code', 'spoken', 'unclear']);

/** Whether two entries give different values for one slot: both then stand until a person settles it. */
export function atOdds(entries: readonly EntryView[]): boolean {
  return entries.some(({ entry }, index) =>
    entries
      .slice(index + 1)
      .some((other) =>
        Object.entries(entry).some(
          ([slot, value]) =>
            !aside.has(slot) &&
            other.entry[slot as keyof Entry] !== undefined &&
            !same(other.entry[slot as keyof Entry], value),
        ),
      ),
  );
}

/** The slots of several entries together, for a form: what each of them adds. */
export const mergedSlots = (entries: readonly EntryView[]): Partial<Entry> =>
  Object.assign({}, ...entries.map(({ entry }) => entry)) as Partial<Entry>;

export function newEntry(entry: Entry, time: EntryTime, newId: () => string): EventBody {
  const { atMs, timing, estimated } = time;
  return { kind: 'entry', entryId: newId(), entry, atMs, timing, ...(estimated ? { estimated: true } : {}) };
}

/**
 * Events that bring the entries of one figure (one vessel's gas, one minute's Apgar) to `next`. What
 * stands already is replaced where it differs, never overwritten; nothing is made when nothing differs.
 * @param fixed slots that name the figure and stay with each entry.
 */
export function changeFigure(
  existing: readonly EntryView[],
  next: Entry,
  fixed: Partial<Entry>,
  time: EntryTime,
  newId: () => string,
): EventBody[] {
  if (existing.length === 0) return [newEntry(next, time, newId)];
  const { code, spoken, unclear: _unclear, ...slots } = next;
  const left: Record<string, unknown> = { ...slots };
  for (const slot of Object.keys(fixed)) delete left[slot];
  return existing.flatMap(({ entryId, entry }, index): EventBody[] => {
    const changed: Record<string, unknown> = { code, ...fixed };
    for (const slot of Object.keys(entry)) {
      if (aside.has(slot) || left[slot] === undefined) continue;
      changed[slot] = left[slot];
      delete left[slot];
    }
    if (index === existing.length - 1) Object.assign(changed, left);
    const { spoken: _before, unclear: _mark, ...before } = entry;
    if (sameSlots(before, changed)) return [];
    const empty = Object.keys(changed).length === 1 + Object.keys(fixed).length;
    if (empty && existing.length > 1) return [{ kind: 'strike', entryId }];
    const words = spoken === undefined ? {} : { spoken };
    return [{ kind: 'replace', entryId, entry: { ...changed, ...words } as unknown as Entry }];
  });
}

function sameSlots(a: object, b: object): boolean {
  const sorted = (value: object) =>
    JSON.stringify(Object.entries(value).sort(([x], [y]) => (x < y ? -1 : 1)));
  return sorted(a) === sorted(b);
}
