import type { Completeness } from '../../core/facts/completeness.ts';
import type { RecordView } from '../../core/log/view.ts';
import { loggedOf } from '../review/figure-events.ts';
import { AFTER_GROUPS, type AfterItem } from './after-items.ts';
import soon from './soon.json';

/** What the desk asks for: `now` can soon not be found any more, `remembered` is in people's heads only. */
export interface Missing {
  now: AfterItem[];
  remembered: AfterItem[];
  later: AfterItem[];
}

export const isRecorded = (item: AfterItem, view: RecordView): boolean =>
  item.ask.kind === 'entry'
    ? loggedOf(view, item.ask.code, item.ask.fixed).length > 0
    : view.fields[item.id] !== undefined;

/** All that is not recorded and applies, in the order in which it is asked for. */
export function missingItems(view: RecordView, completeness: Completeness): Missing {
  const notApplying = new Set(
    completeness.groups.flatMap(({ fields }) =>
      fields.filter(({ state }) => state === 'does not apply').map(({ field }) => field.id),
    ),
  );
  const all = AFTER_GROUPS.flatMap(({ items }) => items);
  const missing = all.filter((item) => !isRecorded(item, view) && !isIdle(item, notApplying));
  const ordered = (ids: readonly string[]) => ids.flatMap((id) => missing.filter((item) => item.id === id));
  const first = new Set([...soon.now, ...soon.remembered]);
  return {
    now: ordered(soon.now),
    remembered: ordered(soon.remembered),
    later: missing.filter(({ id }) => !first.has(id)),
  };
}

const isIdle = ({ id }: AfterItem, notApplying: ReadonlySet<string>): boolean =>
  notApplying.has(id) || (id === 'suprapubic' && notApplying.has('suprapubic-side'));
