import type { Entry, Phase } from '../entry.ts';
import { isNamedOnly, underWay } from '../facts/manoeuvres.ts';
import type { Alternative } from '../interpret/interpretation.ts';
import type { RecordView } from '../log/view.ts';

/** What may have become of an act under way that is named again; "yes" to none of them says which. */
const ENDS: readonly Phase[] = ['done', 'failed', 'stop'];
/** What the bare name of an act may mean whose end sounds like its name: begun, or over. */
const ENDS_ALIKE: readonly Phase[] = ['start', 'done', 'failed'];

/**
 * The question that a call-out is which names an act and says nothing of how it goes: where that very act is under
 * way already (what became of it?), or where its end is easily heard as its bare name ("posterior arm out" as
 * "posterior arm now"). Null where there is nothing to ask.
 * @param atMs record time of the call-out, ms.
 */
export function askIfBare(
  entries: readonly Entry[],
  view: RecordView,
  atMs: number,
): { entries: Entry[]; alternatives: Alternative[] } | null {
  for (const [index, entry] of entries.entries()) {
    const phases = phasesToAsk(entry, view, atMs, entries.length === 1);
    if (phases.length === 0) continue;
    const asked = entries.length === 1 ? [...entries] : entries.with(index, { ...entry, unclear: true });
    const alternatives = phases.map((phase) => ({ entries: entries.with(index, { ...entry, phase }) }));
    return { entries: asked, alternatives };
  }
  return null;
}

function phasesToAsk(entry: Entry, view: RecordView, atMs: number, alone: boolean): readonly Phase[] {
  const { code, phase } = entry;
  if (phase !== undefined || entry.decision !== undefined) return [];
  const named = isNamedOnly(code);
  if (named === 'moment') return [];
  const running = underWay(view, atMs).find((span) => span.code === code)?.first.entry;
  const adds = (slot: string): boolean =>
    entry[slot as 'code'] !== undefined && entry[slot as 'code'] !== running?.[slot as 'code'];
  // "Woods with the Rubin": beside another act what is under way is only mentioned.
  if (alone && running !== undefined && !Object.keys(entry).some(adds)) return ENDS;
  return named === 'asked' ? ENDS_ALIKE : [];
}
