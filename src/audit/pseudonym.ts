import { hmac } from '@noble/hashes/hmac.js';
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';

/** Bytes of a key: as long as the hash (RFC 2104 recommends no less). */
export const KEY_BYTES = 32;

/**
 * Keyed pseudonyms of record ids: HMAC-SHA-256 (RFC 2104), the first 16 hexadecimal digits. Without the key
 * nobody can tell which record a pseudonym stands for, or try ids against it.
 * @param key at least KEY_BYTES random bytes.
 */
export function pseudonymiser(key: Uint8Array): (recordId: string) => string {
  if (key.length < KEY_BYTES) throw new RangeError(`A key of at least ${KEY_BYTES} bytes is needed.`);
  return (recordId) => bytesToHex(hmac(sha256, key, utf8ToBytes(recordId))).slice(0, 16);
}
