import { deviceShelf } from './records.ts';
import type { Shelf } from './shelf.ts';

/** Somebody who belongs to a shared record: a device, by its lane. */
export interface Member {
  lane: string;
  /** Ed25519, signs its events. */
  publicKey: string;
  /** P-256, raw: the record's key is wrapped for it. */
  wrapKey: string;
  /** False for a wall screen: it reads only. */
  writes: boolean;
}

/** What this device keeps of a shared record beside its events. Sealed with the record's own key (sealed-shelf.ts). */
export interface SharingState {
  /** `host`: the record began here or is signed off here; invites, sends away and turns keys over. */
  part: 'host' | 'guest' | 'wall' | 'desk';
  /** Where the log answers, relative to the app's origin. */
  path: string;
  /** What this device shows the server; absent for who shows the person's pass. */
  grant?: string;
  /** Whose word counts for who belongs: the host's signing key, and the department's. */
  hostLane: string;
  hostKey: string;
  departmentWrapKey: string;
  departmentSignKey: string;
  epoch: number;
  /** Keys of the record by epoch, 32 bytes, base64url. */
  keys: Record<number, string>;
  members: Member[];
  /** Who left or was sent away, and the last number of its lane that counts. */
  gone: { lane: string; lastSeq: number }[];
  /** The host's newest list of members of each epoch, as signed: a server that lost its disk gets them again. */
  lists?: Record<number, unknown>;
  /** Record time against this device's wall clock, when last measured: for a start without a network. */
  clock?: { recordMs: number; wallMs: number };
  /** Set where this device left, was sent away or was refused: a sentence. */
  ended?: string;
}

const place = (recordId: string) => ['sharing', recordId] as const;

function sharingOn(shelf: Shelf) {
  return {
    /** What is kept of sharing this record; undefined where it is not shared. */
    read: async (recordId: string): Promise<SharingState | undefined> => {
      const kept = await shelf.get<SharingState>(place(recordId));
      // Sealed with a key that was destroyed: shared no more.
      return kept !== undefined && 'part' in kept ? kept : undefined;
    },
    write: (recordId: string, state: SharingState) =>
      shelf.write([{ kind: 'put', key: place(recordId), value: state }]),
    remove: (recordId: string) => shelf.write([{ kind: 'remove', key: place(recordId) }]),
  };
}

export const sharingKept = sharingOn(deviceShelf);

const DEPARTMENT_KEY = ['department-key'] as const;

/** The department's private keys on a desk that signs off; the browser gives them out no more. */
export const departmentKeyKept = {
  read: <T>() => deviceShelf.get<T>(DEPARTMENT_KEY),
  write: (keys: object) => deviceShelf.write([{ kind: 'put', key: DEPARTMENT_KEY, value: keys }]),
  remove: () => deviceShelf.write([{ kind: 'remove', key: DEPARTMENT_KEY }]),
};
