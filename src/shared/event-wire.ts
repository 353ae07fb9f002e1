import type { LogEvent } from '../core/log/events.ts';
import { fromBase64url } from '../store/signature.ts';
import { utf8 } from './wrapping.ts';

/** The record's key of one epoch, for use. */
export const importRecordKey = (key: string): Promise<CryptoKey> =>
  crypto.subtle.importKey('raw', fromBase64url(key), 'AES-GCM', false, ['encrypt', 'decrypt']);

/** What an encrypted message is bound to: it opens in no other place. */
const boundTo = (recordId: string, lane: string, seq: number | string) => utf8(`${recordId}/${lane}/${seq}`);

/** Nonce and content, AES-256-GCM. */
export async function sealBytes(
  key: CryptoKey,
  bytes: BufferSource,
  recordId: string,
  lane: string,
  seq: number | string,
): Promise<Uint8Array> {
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const additionalData = boundTo(recordId, lane, seq);
  const data = await crypto.subtle.encrypt({ name: 'AES-GCM', iv, additionalData }, key, bytes);
  const whole = new Uint8Array(12 + data.byteLength);
  whole.set(iv);
  whole.set(new Uint8Array(data), 12);
  return whole;
}

/** Null where the key is another's, a bit was altered, or it was moved to another place. */
export async function openBytes(
  key: CryptoKey,
  whole: Uint8Array,
  recordId: string,
  lane: string,
  seq: number | string,
): Promise<ArrayBuffer | null> {
  try {
    const iv = whole.slice(0, 12);
    const additionalData = boundTo(recordId, lane, seq);
    return await crypto.subtle.decrypt({ name: 'AES-GCM', iv, additionalData }, key, whole.slice(12));
  } catch {
    return null;
  }
}

/** `seq`, the place in the computed order, is each device's own and does not travel. */
export function sealEvent(key: CryptoKey, recordId: string, event: LogEvent): Promise<Uint8Array> {
  const { seq, ...rest } = event;
  const plain = event.lane === undefined ? event : { ...rest };
  const lane = event.lane ?? 'version-1';
  return sealBytes(key, utf8(JSON.stringify(plain)), recordId, lane, event.laneSeq ?? seq);
}

export async function openEvent(
  key: CryptoKey,
  whole: Uint8Array,
  recordId: string,
  lane: string,
  seq: number,
): Promise<LogEvent | null> {
  const bytes = await openBytes(key, whole, recordId, lane, seq);
  if (!bytes) return null;
  const event = JSON.parse(new TextDecoder().decode(bytes)) as LogEvent;
  return { ...event, seq: event.seq ?? 0 };
}
