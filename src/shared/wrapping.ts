import { fromBase64url, toBase64url } from '../store/signature.ts';

/** Bytes that only the holder of one private key opens: a fresh P-256 key for each, HKDF-SHA-256, AES-256-GCM. */
export interface Wrapped {
  from: string;
  iv: string;
  data: string;
}

const CURVE = { name: 'ECDH', namedCurve: 'P-256' } as const;
export const utf8 = (text: string) => new TextEncoder().encode(text);

async function keyBetween(own: CryptoKey, other: string, what: string): Promise<CryptoKey> {
  const theirs = await crypto.subtle.importKey('raw', fromBase64url(other), CURVE, false, []);
  const bits = await crypto.subtle.deriveBits({ name: 'ECDH', public: theirs }, own, 256);
  const base = await crypto.subtle.importKey('raw', bits, 'HKDF', false, ['deriveKey']);
  return crypto.subtle.deriveKey(
    { name: 'HKDF', hash: 'SHA-256', salt: new Uint8Array(32), info: utf8(`utterlog ${what}`) },
    base,
    { name: 'AES-GCM', length: 256 },
    false,
    ['encrypt', 'decrypt'],
  );
}

/** `what`: names the purpose; opening under another name fails. */
export async function wrapFor(
  wrapKey: string,
  bytes: Uint8Array<ArrayBuffer>,
  what: string,
  sender?: { privateKey: CryptoKey; publicKey: string },
): Promise<Wrapped> {
  const from = sender ?? (await senderKey());
  const key = await keyBetween(from.privateKey, wrapKey, what);
  return wrapWith(key, from.publicKey, bytes);
}

async function wrapWith(key: CryptoKey, from: string, bytes: Uint8Array<ArrayBuffer>): Promise<Wrapped> {
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const data = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, bytes);
  return { from, iv: toBase64url(iv), data: toBase64url(new Uint8Array(data)) };
}

export async function senderKey(): Promise<{ privateKey: CryptoKey; publicKey: string }> {
  const pair = await crypto.subtle.generateKey(CURVE, false, ['deriveBits']);
  const raw = await crypto.subtle.exportKey('raw', pair.publicKey);
  return { privateKey: pair.privateKey, publicKey: toBase64url(new Uint8Array(raw)) };
}

/** The bytes, or null where they were wrapped for another key or purpose. */
export async function unwrap(
  privateKey: CryptoKey,
  wrapped: Wrapped,
  what: string,
): Promise<Uint8Array<ArrayBuffer> | null> {
  try {
    const key = await keyBetween(privateKey, wrapped.from, what);
    return await unwrapWith(key, wrapped);
  } catch {
    return null;
  }
}

/** Opens many things for one purpose: what one sender wrapped in one go of its app has one key. */
export function unwrapper(
  privateKey: CryptoKey,
  what: string,
): (wrapped: Wrapped) => Promise<Uint8Array<ArrayBuffer> | null> {
  const keys = new Map<string, Promise<CryptoKey>>();
  return async (wrapped) => {
    try {
      const key = keys.get(wrapped.from) ?? keyBetween(privateKey, wrapped.from, what);
      keys.set(wrapped.from, key);
      return await unwrapWith(await key, wrapped);
    } catch {
      return null;
    }
  };
}

async function unwrapWith(key: CryptoKey, wrapped: Wrapped): Promise<Uint8Array<ArrayBuffer>> {
  const iv = fromBase64url(wrapped.iv);
  const data = fromBase64url(wrapped.data);
  return new Uint8Array(await crypto.subtle.decrypt({ name: 'AES-GCM', iv }, key, data));
}
