import { canonicalJson } from './canonical.ts';
import {
  eventName,
  hashOf,
  hashOfText,
  laneOf,
  laneSeqOf,
  NO_EVENT_HASH,
  sealEvents,
  type Made,
} from './chain.ts';
import type { EventBody, LogEvent, RecordFile } from './events.ts';

/** What is wrong with one event of a set. `written-twice`: the same name with another content, as after a restored profile. */
export type LaneFault = { event: string; kind: 'changed' | 'written-twice' };

export interface Merged {
  /** In the order of the record, `seq` given anew. */
  events: LogEvent[];
  /** Known, but something that they were written after is not here yet. */
  waiting: LogEvent[];
  /** Hash of the last event of each lane. */
  heads: Record<string, string>;
  /** One hash over all heads: two devices with the same root hold the same record. */
  root: string;
  faults: LaneFault[];
}

/** Among events of which neither knew the other: by record time, then by name. */
const before = (a: LogEvent, b: LogEvent): number =>
  a.madeAtMs - b.madeAtMs ||
  (laneOf(a) < laneOf(b) ? -1 : laneOf(a) > laneOf(b) ? 1 : laneSeqOf(a) - laneSeqOf(b));

/** Inserts by halving: the list stays in order, first to be taken at its end. */
function insert(ready: LogEvent[], event: LogEvent): void {
  let low = 0;
  let high = ready.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (before(ready[middle]!, event) > 0) low = middle + 1;
    else high = middle;
  }
  ready.splice(low, 0, event);
}

const parentsOf = (event: LogEvent): string[] => [
  ...new Set([...(event.previousHash === NO_EVENT_HASH ? [] : [event.previousHash]), ...(event.after ?? [])]),
];

/** Heads of the lanes of a list of events in order. */
export function laneHeads(events: readonly LogEvent[]): Record<string, string> {
  const newest = new Map<string, LogEvent>();
  for (const event of events) {
    const known = newest.get(laneOf(event));
    if (known === undefined || laneSeqOf(known) < laneSeqOf(event)) newest.set(laneOf(event), event);
  }
  return Object.fromEntries(
    [...newest].sort(([a], [b]) => (a < b ? -1 : 1)).map(([lane, { hash }]) => [lane, hash]),
  );
}

/**
 * One hash for the record as it stands. With one lane it is that lane's head, so that a record on one device has
 * one head to print; with several it is the hash over all heads.
 */
export function rootOf(events: readonly LogEvent[]): string {
  const heads = laneHeads(events);
  const all = Object.values(heads);
  return all.length === 1 ? all[0]! : hashOfText(canonicalJson(heads));
}

/**
 * The order of a set of events from any number of devices, in whatever order they came: causes first, then by record
 * time, then by name. The same set gives the same order everywhere. What was changed or written twice is named.
 */
export function mergeLanes(set: Iterable<LogEvent>, options: { trusted?: boolean } = {}): Merged {
  const { byHash, faults } = takeIn(set, options.trusted === true);
  const children = new Map<string, LogEvent[]>();
  const missing = new Map<LogEvent, number>();
  const ready: LogEvent[] = [];
  for (const event of byHash.values()) {
    const parents = parentsOf(event);
    missing.set(event, parents.length);
    for (const parent of parents) {
      const known = children.get(parent);
      if (known) known.push(event);
      else children.set(parent, [event]);
    }
    if (parents.length === 0) insert(ready, event);
  }
  const order: LogEvent[] = [];
  for (let next = ready.pop(); next !== undefined; next = ready.pop()) {
    order.push(next);
    for (const child of children.get(next.hash) ?? []) {
      const left = missing.get(child)! - 1;
      missing.set(child, left);
      if (left === 0) insert(ready, child);
    }
  }
  const placed = new Set(order.map(({ hash }) => hash));
  const waiting = [...byHash.values()].filter(({ hash }) => !placed.has(hash));
  const events = signaturesFirst(order).map((event, seq) => (event.seq === seq ? event : { ...event, seq }));
  return { events, waiting, heads: laneHeads(events), root: rootOf(events), faults };
}

/**
 * What a signer had not seen stands behind the signature, whatever time it carries: place alone then tells what a
 * signature covers. A signature comes directly after the last event that it covers.
 */
function signaturesFirst(order: readonly LogEvent[]): readonly LogEvent[] {
  const signatures = order.filter(({ kind }) => kind === 'sign');
  if (signatures.length === 0 || !hasSeveralLanes(order)) return order;
  const byHash = new Map(order.map((event) => [event.hash, event]));
  const placed = new Set<string>();
  const moved: LogEvent[] = [];
  for (const signature of signatures) {
    const covered = new Set<string>();
    const open = [signature];
    for (let event = open.pop(); event !== undefined; event = open.pop()) {
      if (placed.has(event.hash) || covered.has(event.hash)) continue;
      covered.add(event.hash);
      for (const parent of parentsOf(event)) open.push(byHash.get(parent)!);
    }
    for (const event of order) if (covered.has(event.hash)) moved.push(event);
    for (const hash of covered) placed.add(hash);
  }
  return [...moved, ...order.filter(({ hash }) => !placed.has(hash))];
}

export const hasSeveralLanes = (events: readonly LogEvent[]): boolean =>
  events.some((event) => laneOf(event) !== laneOf(events[0]!));

function takeIn(
  set: Iterable<LogEvent>,
  trusted: boolean,
): { byHash: Map<string, LogEvent>; faults: LaneFault[] } {
  const byHash = new Map<string, LogEvent>();
  const named = new Map<string, string>();
  const faults: LaneFault[] = [];
  for (const event of set) {
    const name = eventName(event);
    if (!trusted && hashOf(event) !== event.hash) {
      faults.push({ event: name, kind: 'changed' });
      continue;
    }
    if (byHash.has(event.hash)) continue;
    const other = named.get(name);
    if (other !== undefined && other !== event.hash) faults.push({ event: name, kind: 'written-twice' });
    named.set(name, event.hash);
    byHash.set(event.hash, event);
  }
  return { byHash, faults };
}

/** Events in the order of the record, each with its place; a list that is in order already is not sorted again. */
export function inOrder(events: readonly LogEvent[]): readonly LogEvent[] {
  const placed = events.every((event, index) => index === 0 || events[index - 1]!.seq < event.seq);
  if (placed) return events;
  if (events.every(({ lane }) => lane === undefined)) return [...events].sort((a, b) => a.seq - b.seq);
  const merged = mergeLanes(events, { trusted: true });
  return [
    ...merged.events,
    ...merged.waiting.map((event, at) => ({ ...event, seq: merged.events.length + at })),
  ];
}

/** A record with events of several lanes in the order of the record, and the clock spans that they tell of. */
export function arranged(file: RecordFile): RecordFile {
  if (!hasSeveralLanes(file.events)) return file;
  const merged = mergeLanes(file.events, { trusted: true });
  const events = [...merged.events, ...merged.waiting].map((event, seq) =>
    event.seq === seq ? event : { ...event, seq },
  );
  const spans = [...file.spans.slice(0, 1)];
  for (const event of events) {
    if (event.kind !== 'continued') continue;
    spans.push({ spanId: event.spanId, startMs: event.atMs, wallMs: event.wallMs });
  }
  return { ...file, version: 2, spans, events };
}

/**
 * Seals bodies as the next events of the writer's lane, behind everything that is in `events`: the first of them
 * names the heads of other lanes that the writer's lane has not named yet.
 */
export function sealInRecord(
  events: readonly LogEvent[],
  bodies: readonly EventBody[],
  made: Made & { writer: NonNullable<Made['writer']> },
): LogEvent[] {
  const { lane } = made.writer;
  const own = events.filter((event) => event.lane === lane);
  const last = own.reduce<LogEvent | null>(
    (newest, event) => (newest === null || newest.laneSeq! < event.laneSeq! ? event : newest),
    null,
  );
  const named = new Set(own.flatMap(({ after }) => after ?? []));
  const after = Object.entries(laneHeads(events))
    .filter(([other, hash]) => other !== lane && !named.has(hash))
    .map(([, hash]) => hash);
  const sealed = sealEvents(last, bodies, { ...made, after });
  return sealed.map((event, at) => ({ ...event, seq: events.length + at }));
}

/** What the writer of an event of a record had seen when it wrote it. */
export interface Knowledge {
  /** Whether the writer of `event` had seen `other`. Both must be of the record. */
  knew: (event: LogEvent, other: LogEvent) => boolean;
}

/** For events in the order of the record. */
export function knowledgeOf(events: readonly LogEvent[]): Knowledge {
  const byHash = new Map<string, LogEvent>();
  const newest = new Map<string, ReadonlyMap<string, number>>();
  const seen = new Map<string, ReadonlyMap<string, number>>();
  for (const event of events) {
    byHash.set(event.hash, event);
    let known = newest.get(laneOf(event)) ?? new Map<string, number>();
    if ((event.after ?? []).length > 0) {
      const more = new Map(known);
      const raise = (lane: string, laneSeq: number) =>
        more.set(lane, Math.max(laneSeq, more.get(lane) ?? -1));
      for (const hash of event.after ?? []) {
        const other = byHash.get(hash);
        if (other === undefined) continue;
        raise(laneOf(other), laneSeqOf(other));
        for (const [lane, laneSeq] of seen.get(hash) ?? []) raise(lane, laneSeq);
      }
      known = more;
    }
    newest.set(laneOf(event), known);
    seen.set(event.hash, known);
  }
  return {
    knew: (event, other) =>
      laneOf(event) === laneOf(other)
        ? laneSeqOf(event) >= laneSeqOf(other)
        : (seen.get(event.hash)?.get(laneOf(other)) ?? -1) >= laneSeqOf(other),
  };
}
