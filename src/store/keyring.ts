/**
 * Locking with a passphrase. PBKDF2-HMAC-SHA-256 with 600,000 iterations and a random 128-bit salt, as the
 * OWASP Password Storage Cheat Sheet asks of PBKDF2-HMAC-SHA-256; the passphrase only wraps a random
 * AES-256-GCM key, with a fresh 96-bit nonce for each use (NIST SP 800-38D, 8.2.2).
 */
export const ITERATIONS = 600_000;

export interface Sealed {
  iv: Uint8Array<ArrayBuffer>;
  data: ArrayBuffer;
}

/** What is kept beside locked things: nothing in it opens them without the passphrase. */
export interface LockBox {
  derivation: 'PBKDF2-HMAC-SHA-256';
  iterations: number;
  salt: Uint8Array<ArrayBuffer>;
  wrappedKey: Sealed;
}

const random = (length: number) => crypto.getRandomValues(new Uint8Array(length));

const importKey = (raw: BufferSource) =>
  crypto.subtle.importKey('raw', raw, 'AES-GCM', false, ['encrypt', 'decrypt']);

/** Unicode has several spellings of one visible passphrase (NIST SP 800-63B, 5.1.1.2: normalise before use). */
async function wrappingKey(passphrase: string, salt: BufferSource, iterations: number): Promise<CryptoKey> {
  const words = new TextEncoder().encode(passphrase.normalize('NFKC'));
  const base = await crypto.subtle.importKey('raw', words, 'PBKDF2', false, ['deriveKey']);
  return crypto.subtle.deriveKey(
    { name: 'PBKDF2', hash: 'SHA-256', salt, iterations },
    base,
    { name: 'AES-GCM', length: 256 },
    false,
    ['encrypt', 'decrypt'],
  );
}

async function wrap(raw: BufferSource, passphrase: string): Promise<LockBox> {
  const salt = random(16);
  const wrappedKey = await seal(await wrappingKey(passphrase, salt, ITERATIONS), raw);
  return { derivation: 'PBKDF2-HMAC-SHA-256', iterations: ITERATIONS, salt, wrappedKey };
}

/** A new random key and the box that keeps it. */
export async function newLock(passphrase: string): Promise<{ box: LockBox; key: CryptoKey }> {
  const raw = random(32);
  const lock = { box: await wrap(raw, passphrase), key: await importKey(raw) };
  raw.fill(0);
  return lock;
}

/** The key, or null where the passphrase is wrong (or the box was altered: the two cannot be told apart). */
export async function openLock(box: LockBox, passphrase: string): Promise<CryptoKey | null> {
  const raw = await unseal(await wrappingKey(passphrase, box.salt, box.iterations), box.wrappedKey);
  return raw && importKey(raw);
}

/** The same key under another passphrase, or null where the old one is wrong. */
export async function changeLock(box: LockBox, old: string, passphrase: string): Promise<LockBox | null> {
  const raw = await unseal(await wrappingKey(old, box.salt, box.iterations), box.wrappedKey);
  return raw && wrap(raw, passphrase);
}

export async function seal(key: CryptoKey, bytes: BufferSource): Promise<Sealed> {
  const iv = random(12);
  return { iv, data: await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, bytes) };
}

/** The bytes, or null where the key is wrong or a bit was altered. */
export async function unseal(key: CryptoKey, sealed: Sealed): Promise<ArrayBuffer | null> {
  try {
    return await crypto.subtle.decrypt({ name: 'AES-GCM', iv: sealed.iv }, key, sealed.data);
  } catch {
    return null;
  }
}

export const sealJson = (key: CryptoKey, value: unknown) =>
  seal(key, new TextEncoder().encode(JSON.stringify(value)));

export async function unsealJson<T>(key: CryptoKey, sealed: Sealed): Promise<T | null> {
  const bytes = await unseal(key, sealed);
  return bytes && (JSON.parse(new TextDecoder().decode(bytes)) as T);
}
