import type { CheckSignature } from '../core/log/seal.ts';

const ALGORITHM = { name: 'Ed25519' } as const;

export const toBase64url = (bytes: Uint8Array): string =>
  btoa(String.fromCharCode(...bytes))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replace(/=+$/, '');

export const fromBase64url = (text: string): Uint8Array<ArrayBuffer> =>
  Uint8Array.from(atob(text.replaceAll('-', '+').replaceAll('_', '/')), (sign) => sign.charCodeAt(0));

/** Ed25519 (RFC 8032) by the runtime's own Web Crypto. A malformed key or signature is simply not right. */
export const checkSignature: CheckSignature = async (publicKey, signature, text) => {
  try {
    const key = await crypto.subtle.importKey('raw', fromBase64url(publicKey), ALGORITHM, false, ['verify']);
    return await crypto.subtle.verify(
      ALGORITHM,
      key,
      fromBase64url(signature),
      new TextEncoder().encode(text),
    );
  } catch {
    return false;
  }
};

/** @returns the signature of `text`, base64url. */
export const signWith =
  (privateKey: CryptoKey) =>
  async (text: string): Promise<string> =>
    toBase64url(
      new Uint8Array(await crypto.subtle.sign(ALGORITHM, privateKey, new TextEncoder().encode(text))),
    );
