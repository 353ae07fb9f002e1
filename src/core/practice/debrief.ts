import { deriveFacts } from '../facts/derive.ts';
import { logged } from '../facts/logged.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { accountFor } from './causes.ts';
import {
  compareGroups,
  compareInterval,
  compareOrder,
  compareRoles,
  groupOf,
  timeErrors,
  truthView,
} from './compare.ts';
import type { Debrief, EventDebrief, EventStatus, ExtraEntry } from './debrief-types.ts';
import { playedUntil, type Drill, type DrillTruth } from './drill.ts';
import { pairUp, slotDifferences } from './match.ts';
import rules from './match-rules.json' with { type: 'json' };

/**
 * What a drill's record holds against what happened. Times in ms of the record's clock.
 * What a recording did not reach, because it was stopped or the record was finished, did not happen.
 * @param view the fold of the drill's practice record; struck-out entries do not count.
 */
export function debrief(whole: Drill, view: RecordView, vocabulary: Vocabulary): Debrief {
  const drill = whole.way === 'recording' ? playedUntil(whole, stoppedMs(view)) : whole;
  const entries = logged(view);
  const pairing = pairUp(drill.truth, entries);
  const partners = new Map(pairing.pairs.map((pair) => [pair.truth, entries[pair.entry]!]));
  const taken = utterancesBehind([...partners.values()]);
  const events = drill.truth.map((event, at) =>
    eventDebrief(event, partners.get(at) ?? null, drill, view, taken, vocabulary),
  );
  const truthFacts = deriveFacts(truthView(drill, view));
  const facts = deriveFacts(view);
  const times = [...drill.truth.map((event) => event.atMs), ...entries.map((entry) => entry.atMs)];
  return {
    recordId: drill.recordId,
    scenarioId: drill.scenarioId,
    scenarioTitle: drill.scenarioTitle,
    way: drill.way,
    startedAt: drill.startedAt,
    clock: { timeZone: view.timeZone, spans: view.spans, clockOffset: view.clockOffset },
    fromMs: times.length === 0 ? 0 : Math.min(...times),
    toMs: times.length === 0 ? 0 : Math.max(...times),
    events,
    extras: pairing.unpairedEntries.map((at) => extraEntry(entries[at]!, drill.truth)),
    counts: countStatuses(events),
    timeError: timeErrors(events),
    headToBody: compareInterval(truthFacts, facts, 'head-to-body'),
    order: compareOrder(truthFacts, facts),
    roles: compareRoles(events, truthFacts, facts),
    groups: compareGroups(events),
    fields: { truth: truthFacts.completeness, recorded: facts.completeness },
    saidAloud: { count: events.filter((event) => event.saidAloud === true).length, of: events.length },
  };
}

/** Record time at which the recording ended, or was no longer heard. */
function stoppedMs({ interruptions, finishedAtMs }: RecordView): number {
  const deaf = interruptions.filter(({ kind }) => kind !== 'paused').map(({ fromMs }) => fromMs);
  return Math.min(finishedAtMs ?? Infinity, ...deaf);
}

function utterancesBehind(entries: readonly EntryView[]): Set<string> {
  return new Set(entries.flatMap(({ utteranceId }) => (utteranceId === undefined ? [] : [utteranceId])));
}

function eventDebrief(
  event: DrillTruth,
  partner: EntryView | null,
  drill: Drill,
  view: RecordView,
  taken: ReadonlySet<string>,
  vocabulary: Vocabulary,
): EventDebrief {
  const all = partner ? slotDifferences(event.entry, partner.entry) : [];
  const differences = all.filter((difference) => difference.recorded !== undefined);
  const wrong = differences.length > 0;
  const errorMs = partner ? partner.atMs - event.atMs : null;
  const rests = partner && { utteranceId: partner.utteranceId, wrong };
  return {
    id: event.id,
    entry: event.entry,
    group: groupOf(event.entry.code, vocabulary),
    truthMs: event.atMs,
    status: statusOf(errorMs, wrong),
    recorded: partner && {
      entryId: partner.entryId,
      entry: partner.entry,
      atMs: partner.atMs,
      timing: partner.timing,
      corrected: partner.changes.some((change) => change.kind === 'replace' || change.kind === 'shift'),
    },
    errorMs,
    differences,
    leftOut: all.filter((difference) => difference.recorded === undefined),
    ...accountFor(event, rests, drill, view, taken),
  };
}

function statusOf(errorMs: number | null, wrong: boolean): EventStatus {
  if (errorMs === null) return 'missing';
  if (wrong) return 'wrong';
  if (errorMs > rules.lateSeconds * 1000) return 'late';
  return errorMs < -rules.lateSeconds * 1000 ? 'early' : 'called';
}

/** The same call again is a repeat; anything else that nothing stands behind is unexpected. */
function extraEntry({ entryId, entry, atMs }: EntryView, truth: readonly DrillTruth[]): ExtraEntry {
  const again = truth.some(
    (event) =>
      event.entry.code === entry.code &&
      event.atMs < atMs &&
      slotDifferences(event.entry, entry).every((difference) => difference.recorded === undefined) &&
      (event.entry.phase === undefined || entry.phase === undefined || event.entry.phase === entry.phase),
  );
  return { entryId, entry, atMs, kind: again ? 'repeat' : 'unexpected' };
}

function countStatuses(events: readonly EventDebrief[]): Record<EventStatus, number> {
  const counts: Record<EventStatus, number> = { called: 0, late: 0, early: 0, wrong: 0, missing: 0 };
  for (const { status } of events) counts[status] += 1;
  return counts;
}
