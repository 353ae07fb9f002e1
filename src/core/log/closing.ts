import { canonicalJson } from './canonical.ts';
import type { RecordFile, Versions } from './events.ts';
import { rootOf } from './lanes.ts';

/**
 * Stands at the end of an exported record: what the export held, signed by the device that exported it. A file whose
 * end was cut off no longer agrees with it.
 */
export interface Closing {
  /** Hash over the heads of all lanes (lanes.ts). The printed note carries the same. */
  head: string;
  events: number;
  /** What exported it. */
  exportedWith?: Versions;
  publicKey?: string;
  /** Ed25519 over the canonical JSON of the closing without this, and the record's id; base64url. */
  signature?: string;
}

export const closingOf = (file: RecordFile, exportedWith?: Versions, publicKey?: string): Closing => ({
  head: rootOf(file.events),
  events: file.events.length,
  ...(exportedWith ? { exportedWith } : {}),
  ...(publicKey ? { publicKey } : {}),
});

/** The text that a closing's signature is over. */
export function closingText(recordId: string, closing: Closing): string {
  const { signature: _signature, ...rest } = closing;
  return canonicalJson({ recordId, ...rest });
}
