import type { Entry } from '../../core/entry.ts';
import type { EventBody } from '../../core/log/events.ts';
import type { RecordView } from '../../core/log/view.ts';

/** What the undo button would do now, and to which entry. */
export interface Undo {
  does: 'strike' | 'restore' | 'change-back' | 'move-back';
  entry: Entry;
  bodies: EventBody[];
}

/**
 * Takes back the newest change of the entries, whoever made it. Pressed again, it takes back the undo;
 * older entries are struck out in the list. Null where nothing was logged yet.
 */
export function undoOf(view: RecordView): Undo | null {
  for (let index = view.events.length - 1; index >= 0; index -= 1) {
    const event = view.events[index]!;
    const ids =
      event.kind === 'confirm'
        ? event.entryIds
        : event.kind === 'entry' ||
            event.kind === 'strike' ||
            event.kind === 'restore' ||
            event.kind === 'replace' ||
            event.kind === 'shift'
          ? [event.entryId]
          : [];
    const entryId = ids.at(-1);
    const found = view.entries.find((entry) => entry.entryId === entryId);
    if (entryId === undefined || found === undefined) continue;
    const before = found.changes.find(({ seq }) => seq === event.seq);
    if (event.kind === 'strike')
      return { does: 'restore', entry: found.entry, bodies: [{ kind: 'restore', entryId }] };
    if ((event.kind === 'replace' || event.kind === 'confirm') && before) {
      return {
        does: 'change-back',
        entry: before.entry,
        bodies: [{ kind: 'replace', entryId, entry: before.entry }],
      };
    }
    if (event.kind === 'shift' && before) {
      return {
        does: 'move-back',
        entry: found.entry,
        bodies: [
          { kind: 'shift', entryId, atMs: before.atMs, ...(before.estimated ? { estimated: true } : {}) },
        ],
      };
    }
    return { does: 'strike', entry: found.entry, bodies: ids.map((id) => ({ kind: 'strike', entryId: id })) };
  }
  return null;
}
