import { toBase64url } from './signature.ts';
import { asShelfError, type Shelf } from './shelf.ts';

const KEY = ['device-wrap-key'] as const;
const ALGORITHM = { name: 'ECDH', namedCurve: 'P-256' } as const;

/** This device's key that other devices wrap a record's key for. Its private half stays in the browser. */
export interface WrapKey {
  privateKey: CryptoKey;
  /** Raw, base64url. */
  publicKey: string;
}

export function wrapKeyOn(shelf: Shelf): () => Promise<WrapKey> {
  let found: Promise<WrapKey> | undefined;
  const find = async (): Promise<WrapKey> => {
    const known = await shelf.get<WrapKey>(KEY);
    if (known) return known;
    const pair = await crypto.subtle.generateKey(ALGORITHM, false, ['deriveBits']);
    const raw = await crypto.subtle.exportKey('raw', pair.publicKey);
    const made: WrapKey = { privateKey: pair.privateKey, publicKey: toBase64url(new Uint8Array(raw)) };
    try {
      await shelf.write([{ kind: 'add', key: KEY, value: made }]);
      return made;
    } catch (error) {
      if (asShelfError(error).problem !== 'taken') throw error;
      return (await shelf.get<WrapKey>(KEY))!;
    }
  };
  return () => {
    found ??= find().catch((error: unknown) => {
      found = undefined;
      throw error;
    });
    return found;
  };
}
