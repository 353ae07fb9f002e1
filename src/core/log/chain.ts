import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { allAtOnce, type Steps } from '../steps.ts';
import { canonicalJson } from './canonical.ts';
import type { Author, EventBody, LogEvent, RecordFile } from './events.ts';

/** `previousHash` of the first event. */
export const NO_EVENT_HASH = '0'.repeat(64);

export type ChainState = { kind: 'intact' } | { kind: 'broken'; seq: number; why: string };

/** SHA-256 (hex) over the canonical JSON of an event without its own hash. */
function hashOf(event: Omit<LogEvent, 'hash'>): string {
  const { hash: _own, ...rest } = event as LogEvent;
  return bytesToHex(sha256(utf8ToBytes(canonicalJson(rest))));
}

/** Plain JSON copy: what is sealed is what will be read back from storage. */
const plain = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;

/**
 * Turns bodies into log events that follow `last` (null for an empty log).
 * Each event's hash covers its body, author, times, number and the hash before it.
 */
export function sealEvents(
  last: LogEvent | null,
  bodies: readonly EventBody[],
  made: { by: Author; madeAtMs: number; madeAt: string },
): LogEvent[] {
  const sealed: LogEvent[] = [];
  let seq = last === null ? 0 : last.seq + 1;
  let previousHash = last === null ? NO_EVENT_HASH : last.hash;
  for (const body of bodies) {
    const { by, madeAtMs, madeAt } = made;
    const open = plain({ ...body, seq, by, madeAtMs, madeAt, previousHash });
    const event = { ...open, hash: hashOf(open) } as LogEvent;
    sealed.push(event);
    previousHash = event.hash;
    seq += 1;
  }
  return sealed;
}

/** Events checked in one step: about a millisecond's work. */
const STEP = 50;

/** Whether every event still follows from the one before; names the first that does not. */
function* chainSteps(events: readonly LogEvent[]): Steps<ChainState> {
  let previousHash = NO_EVENT_HASH;
  for (const [index, event] of events.entries()) {
    const broken = (why: string): ChainState => ({ kind: 'broken', seq: index, why });
    if (event.seq !== index) return broken(`event number ${index} is missing or out of order`);
    if (event.previousHash !== previousHash) return broken('it does not follow from the event before it');
    if (hashOf(event) !== event.hash) return broken('its content was changed after it was written');
    previousHash = event.hash;
    if (index % STEP === STEP - 1) yield index / events.length;
  }
  return { kind: 'intact' };
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
  const { span, migratedFrom: _older, ...head } = first.record;
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
