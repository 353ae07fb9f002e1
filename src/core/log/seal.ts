import { eventName, laneOf, verifyRecord } from './chain.ts';
import { closingText, type Closing } from './closing.ts';
import type { LogEvent, RecordFile } from './events.ts';
import { rootOf } from './lanes.ts';

/** @returns whether `signature` (base64url) is that of `text` by the holder of `publicKey` (base64url). */
export type CheckSignature = (publicKey: string, signature: string, text: string) => Promise<boolean>;

/** A device that wrote in the record: its public key, and how many of the record's events are its own. */
export interface LaneWriter {
  lane: string;
  publicKey: string | null;
  events: number;
}

/**
 * What can be said of a file by itself, and against the head of an earlier print where one is given.
 * Who re-seals a whole record with the same device, or copies it event by event on another, is found only by an
 * earlier head: without one, `as-exported` says that the file agrees with itself and with its signatures.
 */
export type SealVerdict = { head: string; events: number; writers: LaneWriter[] } & (
  | { kind: 'as-exported'; addedSinceHead: number | null }
  | { kind: 'shortened' | 'changed' | 're-sealed'; why: string; event?: string }
  | { kind: 'not-signed'; why: string; addedSinceHead: number | null }
);

export interface Expected {
  /** Head of the chain as an earlier note printed it. */
  head?: string;
}

/** Holds a file against its own chain, signatures and closing, and against an earlier head. */
export async function judgeSeal(
  file: RecordFile,
  closing: Closing | null,
  check: CheckSignature,
  expected: Expected = {},
): Promise<SealVerdict> {
  const about = { head: rootOf(file.events), events: file.events.length, writers: writersOf(file.events) };
  const chain = verifyRecord(file);
  if (chain.kind === 'broken') {
    const kind = /missing/.test(chain.why) ? 'shortened' : 'changed';
    return { ...about, kind, event: nameAt(file.events, chain.seq), why: chain.why };
  }
  const hasHead = expected.head !== undefined;
  const addedSinceHead = hasHead ? addedSince(file.events, expected.head!) : null;
  if (hasHead && addedSinceHead === null) {
    return {
      ...about,
      kind: 're-sealed',
      why: 'the head of the earlier print is not in this file: it was sealed again since, or its end was cut off',
    };
  }
  const wrong =
    (await signatureFault(file, about.writers, check)) ?? (await closingFault(file, closing, about, check));
  if (wrong !== null) return { ...about, ...wrong };
  if (about.writers.every(({ publicKey }) => publicKey === null)) {
    return { ...about, kind: 'not-signed', addedSinceHead, why: unsignedWhy(file) };
  }
  return { ...about, kind: 'as-exported', addedSinceHead };
}

const nameAt = (events: readonly LogEvent[], index: number): string => {
  const event = events[index];
  return event === undefined ? `number ${index}` : eventName(event);
};

function unsignedWhy(file: RecordFile): string {
  const first = file.events[0];
  if (first?.kind === 'begin' && first.record?.migratedFrom === 0)
    return 'it was made by a version that sealed nothing: its chain began when it was imported';
  return 'no device signed it: its chain agrees with itself, and anybody can make such a chain';
}

/** How many events came after the earlier head; null where that head is nowhere in the record. */
function addedSince(events: readonly LogEvent[], head: string): number | null {
  for (let length = events.length; length > 0; length -= 1) {
    if (events[length - 1]!.hash === head) return events.length - length;
  }
  // With several lanes the printed head is a hash over all heads, which only a prefix of the order can give again.
  if (new Set(events.map(laneOf)).size === 1) return null;
  for (let length = events.length; length > 0; length -= 1) {
    if (rootOf(events.slice(0, length)) === head) return events.length - length;
  }
  return null;
}

export function writersOf(events: readonly LogEvent[]): LaneWriter[] {
  const writers = new Map<string, LaneWriter>();
  for (const event of events) {
    const lane = laneOf(event);
    const known = writers.get(lane);
    if (known) known.events += 1;
    else writers.set(lane, { lane, publicKey: event.device?.publicKey ?? null, events: 1 });
  }
  return [...writers.values()];
}

type Fault = { kind: 'shortened' | 'changed' | 're-sealed'; why: string; event?: string };

/** The first event whose signature is missing or not its device's; null where every one is right. */
export async function signatureFault(
  file: RecordFile,
  writers: readonly LaneWriter[],
  check: CheckSignature,
): Promise<Fault | null> {
  const keys = new Map(writers.map(({ lane, publicKey }) => [lane, publicKey]));
  for (const event of file.events) {
    const key = keys.get(laneOf(event)) ?? null;
    if (key === null) continue;
    if (event.signature === undefined)
      return { kind: 'changed', event: eventName(event), why: 'the signature of its device is missing' };
    if (!(await check(key, event.signature, event.hash)))
      return {
        kind: 're-sealed',
        event: eventName(event),
        why: 'its signature is not that of the device whose lane it stands in',
      };
  }
  return null;
}

async function closingFault(
  file: RecordFile,
  closing: Closing | null,
  about: { head: string; events: number; writers: LaneWriter[] },
  check: CheckSignature,
): Promise<Fault | null> {
  const signed = about.writers.some(({ publicKey }) => publicKey !== null);
  if (closing === null) {
    return signed
      ? {
          kind: 'shortened',
          why: 'the closing that every export ends with is missing: what stood before it may be cut off too',
        }
      : null;
  }
  if (closing.events > about.events)
    return { kind: 'shortened', why: `${closing.events} events were exported, ${about.events} are here` };
  if (closing.head !== about.head || closing.events !== about.events)
    return { kind: 'changed', why: 'the closing of the export names another head than the log has' };
  if (!signed) return null;
  if (closing.publicKey === undefined || closing.signature === undefined)
    return { kind: 'changed', why: 'the closing of the export is not signed' };
  if (!(await check(closing.publicKey, closing.signature, closingText(file.recordId, closing))))
    return { kind: 'changed', why: 'the signature of the closing does not fit what it says' };
  if (!about.writers.some(({ publicKey }) => publicKey === closing.publicKey))
    return { kind: 're-sealed', why: 'it was exported by a device that wrote nothing in it' };
  return null;
}
