import type { Made } from '../core/log/chain.ts';
import { hashOfText } from '../core/log/chain.ts';
import type { LogEvent } from '../core/log/events.ts';
import { signWith, toBase64url } from './signature.ts';
import { asShelfError, type Shelf } from './shelf.ts';

const KEY = ['device-signing-key'] as const;

interface Kept {
  privateKey: CryptoKey;
  publicKey: string;
}

/** How this device writes: its lane, its public key, and how it signs. */
export interface DeviceWriter {
  writer: NonNullable<Made['writer']>;
  /** Absent where the browser offers no Ed25519 or keeps no key: events are then written unsigned. */
  sign?: (text: string) => Promise<string>;
}

export const laneOfKey = (publicKey: string): string => hashOfText(publicKey).slice(0, 16);

/**
 * The device's signing key, made when first asked for. Its private half is kept by the browser and cannot be
 * exported, not even by the app. It proves that the same browser profile wrote, not who sat there.
 */
export function deviceKeyOn(shelf: Shelf): () => Promise<DeviceWriter> {
  let found: Promise<DeviceWriter> | undefined;
  return () => {
    found ??= find(shelf).catch(() => ({
      writer: { lane: `unsigned-${crypto.randomUUID().slice(0, 8)}` },
    }));
    return found;
  };
}

async function find(shelf: Shelf): Promise<DeviceWriter> {
  const known = await shelf.get<Kept>(KEY);
  if (known) return writerOf(known);
  const pair = (await crypto.subtle.generateKey({ name: 'Ed25519' }, false, [
    'sign',
    'verify',
  ])) as CryptoKeyPair;
  const raw = await crypto.subtle.exportKey('raw', pair.publicKey);
  const made: Kept = { privateKey: pair.privateKey, publicKey: toBase64url(new Uint8Array(raw)) };
  try {
    await shelf.write([{ kind: 'add', key: KEY, value: made }]);
    return writerOf(made);
  } catch (error) {
    if (asShelfError(error).problem !== 'taken') throw error;
    // Another window made one at the same moment.
    return writerOf((await shelf.get<Kept>(KEY))!);
  }
}

const writerOf = ({ privateKey, publicKey }: Kept): DeviceWriter => ({
  writer: { lane: laneOfKey(publicKey), device: { publicKey } },
  sign: signWith(privateKey),
});

/** The events with this device's signature on those of its own lane that have none yet. */
export async function signed(events: readonly LogEvent[], device: DeviceWriter): Promise<LogEvent[]> {
  const { writer, sign } = device;
  if (!sign) return [...events];
  return Promise.all(
    events.map(async (event) =>
      event.lane !== writer.lane || event.signature !== undefined
        ? event
        : { ...event, signature: await sign(event.hash) },
    ),
  );
}
