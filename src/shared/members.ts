import { canonicalJson } from '../core/log/canonical.ts';
import { laneOfKey } from '../store/device-key.ts';
import type { Member, SharingState } from '../store/sharing.ts';
import { checkSignature, fromBase64url, toBase64url } from '../store/signature.ts';
import { unwrap, wrapFor, type Wrapped } from './wrapping.ts';

/** Who belongs to a record from here on, and its key for each of them. Signed by the host or the department. */
export interface KeyMessage {
  version: 1;
  recordId: string;
  epoch: number;
  /** Later messages of one epoch add members; the greater number holds. */
  number: number;
  hostLane: string;
  hostKey: string;
  by: 'host' | 'department';
  members: Member[];
  gone: SharingState['gone'];
  wraps: Record<string, Wrapped>;
  department: Wrapped;
  signature: string;
}

const purpose = (recordId: string, epoch: number) => `key ${recordId} ${epoch}`;

const textOf = (message: Omit<KeyMessage, 'signature'>): string => {
  const { signature: _own, ...rest } = message as KeyMessage;
  return `utterlog members ${canonicalJson(rest)}`;
};

export const newRecordKey = (): string => toBase64url(crypto.getRandomValues(new Uint8Array(32)));

/** @param key the record's key of this epoch, base64url. */
export async function keyMessage(
  recordId: string,
  state: SharingState,
  number: number,
  by: KeyMessage['by'],
  sign: (text: string) => Promise<string>,
): Promise<KeyMessage> {
  const { epoch, hostLane, hostKey, members, gone } = state;
  const bytes = fromBase64url(state.keys[epoch]!);
  const wraps: Record<string, Wrapped> = {};
  for (const member of members)
    wraps[member.lane] = await wrapFor(member.wrapKey, bytes, purpose(recordId, epoch));
  const department = await wrapFor(state.departmentWrapKey, bytes, purpose(recordId, epoch));
  const open = { version: 1, recordId, epoch, number, hostLane, hostKey, by } as const;
  const message = { ...open, members, gone, wraps, department };
  return { ...message, signature: await sign(textOf(message)) };
}

/** Whether the message is of this record and signed by whoever it says; `anchor`: whose word counts. */
export async function isGenuine(
  message: KeyMessage,
  recordId: string,
  anchor: { hostLane: string; hostKey: string; departmentSignKey: string },
): Promise<boolean> {
  if (message.version !== 1 || message.recordId !== recordId) return false;
  if (message.hostLane !== anchor.hostLane || message.hostKey !== anchor.hostKey) return false;
  if (message.members.some(({ lane, publicKey }) => laneOfKey(publicKey) !== lane)) return false;
  const key = message.by === 'department' ? anchor.departmentSignKey : anchor.hostKey;
  return checkSignature(key, message.signature, textOf(message));
}

export async function keyOf(
  message: KeyMessage,
  lane: string | 'department',
  privateKey: CryptoKey,
): Promise<string | null> {
  const wrapped = lane === 'department' ? message.department : message.wraps[lane];
  const bytes = wrapped && (await unwrap(privateKey, wrapped, purpose(message.recordId, message.epoch)));
  return bytes ? toBase64url(bytes) : null;
}
