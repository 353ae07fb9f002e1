import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { allAtOnce, type Steps } from '../steps.ts';
import { canonicalJson } from './canonical.ts';
import type { Author, EventBody, LaneDevice, LogEvent, RecordFile } from './events.ts';

/** `previousHash` of the first event of a lane. */
export const NO_EVENT_HASH = '0'.repeat(64);

/** The lane of a record that no device of its own writes: made on the command line or in a test. */
export const LANE_WITHOUT_DEVICE = 'unsigned';
/** What the chain of a record of version 1 is called where lanes are named. */
export const FIRST_LANE = 'version-1';

export const laneOf = (event: LogEvent): string => event.lane ?? FIRST_LANE;
export const laneSeqOf = (event: LogEvent): number => event.laneSeq ?? event.seq;
/** What an event is called, whatever arrives later: its lane and its number there. */
export const eventName = (event: LogEvent): string => `${laneOf(event)}:${laneSeqOf(event)}`;

export const hashOfText = (text: string): string => bytesToHex(sha256(utf8ToBytes(text)));

export type ChainState = { kind: 'intact' } | { kind: 'broken'; seq: number; why: string };

/**
 * SHA-256 (hex) over the canonical JSON of an event without its own hash and signature. In a lane the place in the
 * computed order is left out, too; in version 1 it is part of what was sealed.
 */
export function hashOf(event: Omit<LogEvent, 'hash'>): string {
  const { hash: _own, signature: _signature, ...rest } = event as LogEvent;
  if (rest.lane === undefined) return hashOfText(canonicalJson(rest));
  const { seq: _place, ...sealed } = rest;
  return hashOfText(canonicalJson(sealed));
}

/** Plain JSON copy: what is sealed is what will be read back from storage. */
const plain = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;

export interface Made {
  by: Author;
  madeAtMs: number;
  madeAt: string;
  /** Who writes. Without it the lane of the event before is gone on with. */
  writer?: { lane: string; device?: LaneDevice };
  /** Heads of other lanes that the writer has newly seen; named by the first of these events. */
  after?: readonly string[];
}

/**
 * Turns bodies into log events that follow `last` (null for an empty log) in the lane of the writer. Each event's
 * hash covers its body, author, times, name and the hash before it in its lane. A writer whose lane `last` is not
 * in begins its lane there and names `last` as seen.
 */
export function sealEvents(last: LogEvent | null, bodies: readonly EventBody[], made: Made): LogEvent[] {
  const sealed: LogEvent[] = [];
  for (const body of bodies) {
    const before = sealed.at(-1) ?? last;
    const seen = sealed.length === 0 ? (made.after ?? []) : [];
    const open = plain(opened(body, before, made, seen));
    sealed.push({ ...open, hash: hashOf(open as LogEvent) } as LogEvent);
  }
  return sealed;
}

/** An event without its hash. */
function opened(body: EventBody, before: LogEvent | null, made: Made, seen: readonly string[]): object {
  const { by, madeAtMs, madeAt, writer } = made;
  const common = { ...body, seq: before === null ? 0 : before.seq + 1, by, madeAtMs, madeAt };
  const lane = writer?.lane ?? (before === null ? LANE_WITHOUT_DEVICE : before.lane);
  // A chain of version 1 that no lane goes on with stays as it is.
  if (lane === undefined) return { ...common, previousHash: before!.hash };
  if (before !== null && before.lane === lane) {
    const laneSeq = before.laneSeq! + 1;
    return { ...common, lane, laneSeq, after: [...seen].sort(), previousHash: before.hash };
  }
  const after = [...new Set([...seen, ...(before === null ? [] : [before.hash])])].sort();
  const device = writer?.device ? { device: writer.device } : {};
  return { ...common, lane, laneSeq: 0, after, ...device, previousHash: NO_EVENT_HASH };
}

/** What an event says, without what sealing added. */
export function bodyOf(event: LogEvent): EventBody {
  const { seq: _seq, hash: _hash, previousHash: _previous, signature: _signature, ...open } = event;
  const { lane: _lane, laneSeq: _laneSeq, after: _after, device: _device, ...said } = open;
  const { by: _by, madeAtMs: _madeAtMs, madeAt: _madeAt, ...body } = said;
  return body as EventBody;
}

/** Events checked in one step: about a millisecond's work. */
const STEP = 50;

/** Whether every event still follows from the one before it in its lane; names the first that does not. */
function* chainSteps(events: readonly LogEvent[]): Steps<ChainState> {
  const heads = new Map<string, LogEvent>();
  const seen = new Set<string>();
  for (const [index, event] of events.entries()) {
    const why = breakOf(event, index, heads.get(laneOf(event)), seen);
    if (why !== null) return { kind: 'broken', seq: index, why };
    heads.set(laneOf(event), event);
    seen.add(event.hash);
    if (index % STEP === STEP - 1) yield index / events.length;
  }
  return { kind: 'intact' };
}

function breakOf(
  event: LogEvent,
  index: number,
  before: LogEvent | undefined,
  seen: ReadonlySet<string>,
): string | null {
  if (event.lane === undefined && event.seq !== index)
    return `event number ${index} is missing or out of order`;
  const expected = before === undefined ? 0 : laneSeqOf(before) + 1;
  if (laneSeqOf(event) !== expected) return `event ${laneOf(event)}:${expected} is missing or out of order`;
  if (event.previousHash !== (before?.hash ?? NO_EVENT_HASH))
    return 'it does not follow from the event before it';
  if ((event.after ?? []).some((hash) => !seen.has(hash)))
    return 'an event that it was written after is missing';
  if (hashOf(event) !== event.hash) return 'its content was changed after it was written';
  return null;
}

export const verifyChain = (events: readonly LogEvent[]): ChainState => allAtOnce(chainSteps(events));

/**
 * The chain, and the head of the file against what the chain says of it: name, making, time zone
 * and clock spans. A file whose first event holds no head (an older version) is checked by chain only.
 */
export function* verifySteps(file: RecordFile): Steps<ChainState> {
  const chain = yield* chainSteps(file.events);
  if (chain.kind === 'broken') return chain;
  const first = file.events[0];
  if (first?.kind !== 'begin' || first.record === undefined) return chain;
  const { span, migratedFrom: _older, madeWith: _versions, ...head } = first.record;
  const expected = { ...head, spans: [span] };
  for (const event of file.events) {
    if (event.kind === 'continued') {
      expected.spans.push({ spanId: event.spanId, startMs: event.atMs, wallMs: event.wallMs });
    }
  }
  const { recordId, createdAt, timeZone, spans } = file;
  if (canonicalJson(expected) === canonicalJson({ recordId, createdAt, timeZone, spans })) return chain;
  return { kind: 'broken', seq: 0, why: 'the head of the file (name, time zone or clock) was changed' };
}

/** All of verifySteps at once. */
export const verifyRecord = (file: RecordFile): ChainState => allAtOnce(verifySteps(file));
