import type { NatsConnection } from '@nats-io/nats-core';
import type { RecordFile } from '../core/log/events.ts';
import { canonicalJson } from '../core/log/canonical.ts';
import { hashOfText } from '../core/log/chain.ts';
import { laneOfKey } from '../store/device-key.ts';
import type { Member, SharingState } from '../store/sharing.ts';
import { toBase64url } from '../store/signature.ts';
import { subjects, WIRE_VERSION } from './subjects.ts';
import words from './words.json';
import { senderKey, unwrap, utf8, wrapFor, type Wrapped } from './wrapping.ts';

/** What stands on the server of an invitation is not the code that opens it. */
export const invitationIdOf = (code: string): string =>
  hashOfText(`utterlog invitation ${code}`).slice(0, 32);

interface Hello {
  kind: 'hello';
  version: number;
  recordId: string;
  /** Binds the host to its keys before it has seen the guest's: nobody in between can choose keys until words fit. */
  commitment: string;
}
interface GuestKeys {
  kind: 'keys';
  lane: string;
  publicKey: string;
  wrapKey: string;
  nonce: string;
}
interface HostKeys {
  kind: 'keys';
  hostLane: string;
  hostKey: string;
  joinKey: string;
  nonce: string;
  writes: boolean;
  departmentWrapKey: string;
}
/** Sealed for the guest once the words were confirmed at the record. */
interface Admission {
  kind: 'admitted';
  wrapped: Wrapped;
}
type FromHost = Hello | HostKeys | Admission | { kind: 'declined' };

export interface Admitted {
  recordId: string;
  state: SharingState;
  /** What of the record’s file no event need hold. */
  head: Omit<RecordFile, 'events'>;
}

const random = () => toBase64url(crypto.getRandomValues(new Uint8Array(16)));
const commitmentOf = (keys: HostKeys) => hashOfText(`utterlog host ${canonicalJson(keys)}`);

/** The four words that both sides show: 32 bits over everything that both sides said. */
async function wordsOf(recordId: string, host: HostKeys, guest: GuestKeys): Promise<string[]> {
  const transcript = utf8(`utterlog joining ${canonicalJson({ recordId, host, guest })}`);
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', transcript));
  return [...digest.slice(0, 4)].map((byte) => words.words[byte]!);
}
const purposeOf = (recordId: string, guest: GuestKeys) => `admission ${recordId} ${guest.lane}`;

export const END_MS = 120_000;
const HELLO_EVERY_MS = 400;

export interface HostSide {
  /** Resolves when a device has come: what its person must see, too. */
  came: Promise<{ words: string[]; member: Member } | null>;
  /** Somebody at the record said that the words are the same. */
  confirm: (admitted: Admitted) => Promise<void>;
  decline: () => void;
  stop: () => void;
}

/** The record's side of an invitation. One guest, once. */
export function hostInvitation(
  nc: NatsConnection,
  options: {
    recordId: string;
    code: string;
    hostLane: string;
    hostKey: string;
    writes: boolean;
    departmentWrapKey: string;
  },
): HostSide {
  const { recordId, code, hostLane, hostKey, writes, departmentWrapKey } = options;
  const id = invitationIdOf(code);
  const say = (message: FromHost) =>
    nc.publish(subjects.joining(recordId, id, 'host'), JSON.stringify(message));
  let stop = () => {};
  let guest: GuestKeys | null = null;
  let own: { privateKey: CryptoKey; publicKey: string };
  const came = new Promise<{ words: string[]; member: Member } | null>((resolve) => {
    void (async () => {
      own = await senderKey();
      const keys: HostKeys = {
        kind: 'keys',
        hostLane,
        hostKey,
        joinKey: own.publicKey,
        nonce: random(),
        writes,
        departmentWrapKey,
      };
      const commitment = commitmentOf(keys);
      const timer = setInterval(
        () => say({ kind: 'hello', version: WIRE_VERSION, recordId, commitment }),
        HELLO_EVERY_MS,
      );
      const end = setTimeout(() => stop(), END_MS);
      const heard = nc.subscribe(subjects.joining(recordId, id, 'guest'), {
        callback: (error, message) => {
          // The first to answer is the one that the words are about; another changes nothing.
          if (error || guest !== null) return;
          const said = message.json<GuestKeys>();
          if (said.kind !== 'keys' || laneOfKey(said.publicKey) !== said.lane) return;
          guest = said;
          clearInterval(timer);
          say(keys);
          const { lane, publicKey, wrapKey } = said;
          void wordsOf(recordId, keys, said).then((both) =>
            resolve({ words: both, member: { lane, publicKey, wrapKey, writes } }),
          );
        },
      });
      stop = () => {
        clearInterval(timer);
        clearTimeout(end);
        heard.unsubscribe();
        resolve(null);
      };
    })();
  });
  return {
    came,
    confirm: async (admitted) => {
      const bytes = utf8(JSON.stringify(admitted));
      const wrapped = await wrapFor(guest!.wrapKey, bytes, purposeOf(recordId, guest!), own);
      say({ kind: 'admitted', wrapped });
      await nc.flush();
      stop();
    },
    decline: () => {
      say({ kind: 'declined' });
      stop();
    },
    stop: () => stop(),
  };
}

export interface GuestSide {
  /** The words to hold against those at the record; null where nobody answers there. */
  words: Promise<string[] | null>;
  /** @throws a sentence where the record's side declined or went away. */
  admitted: Promise<Admitted>;
  stop: () => void;
}

/** The joining device's side. */
export function guestInvitation(
  nc: NatsConnection,
  code: string,
  own: { lane: string; publicKey: string; wrapKey: { privateKey: CryptoKey; publicKey: string } },
): GuestSide {
  const id = invitationIdOf(code);
  const guest: GuestKeys = {
    kind: 'keys',
    lane: own.lane,
    publicKey: own.publicKey,
    wrapKey: own.wrapKey.publicKey,
    nonce: random(),
  };
  let stop = () => {};
  let give: (words: string[] | null) => void;
  const both = new Promise<string[] | null>((resolve) => (give = resolve));
  const admitted = new Promise<Admitted>((resolve, reject) => {
    let hello: Hello | null = null;
    let host: HostKeys | null = null;
    const fail = (sentence: string) => {
      give(null);
      reject(new Error(sentence));
      stop();
    };
    const end = setTimeout(
      () => fail('Two minutes have passed. Nothing was joined; ask for a new code at the record.'),
      END_MS,
    );
    const heard = nc.subscribe(subjects.joining('*', id, 'host'), {
      callback: (error, message) => {
        if (error) return;
        const said = message.json<FromHost>();
        if (said.kind === 'hello' && hello === null) {
          if (said.version !== WIRE_VERSION)
            return fail('The other device has another version of the app. Reload both and try again.');
          hello = said;
          nc.publish(subjects.joining(said.recordId, id, 'guest'), JSON.stringify(guest));
        } else if (said.kind === 'keys' && hello !== null && host === null) {
          if (commitmentOf(said) !== hello.commitment || laneOfKey(said.hostKey) !== said.hostLane)
            return fail('What the record’s side sent does not fit together. Nothing was joined.');
          host = said;
          void wordsOf(hello.recordId, said, guest).then(give);
        } else if (said.kind === 'declined') fail('The record’s side said no. Nothing was joined.');
        else if (said.kind === 'admitted' && hello !== null && host !== null)
          void take(hello, host, said.wrapped);
      },
    });
    const take = async (from: Hello, keys: HostKeys, wrapped: Wrapped) => {
      // Only the key that the words were about may admit.
      const bytes =
        wrapped.from === keys.joinKey
          ? await unwrap(own.wrapKey.privateKey, wrapped, purposeOf(from.recordId, guest))
          : null;
      if (!bytes) return fail('The answer of the record’s side cannot be opened. Nothing was joined.');
      const told = JSON.parse(new TextDecoder().decode(bytes)) as Admitted;
      const fits =
        told.recordId === from.recordId &&
        told.head.recordId === from.recordId &&
        told.state.hostKey === keys.hostKey &&
        told.state.departmentWrapKey === keys.departmentWrapKey;
      if (!fits) return fail('The answer of the record’s side is of another record. Nothing was joined.');
      resolve(told);
      stop();
    };
    stop = () => {
      clearTimeout(end);
      heard.unsubscribe();
    };
  });
  return { words: both, admitted, stop: () => stop() };
}
