import { exclusively } from './exclusive.ts';
import type { HeldRecords } from './held.ts';
import { changeLock, newLock, openLock, type LockBox } from './keyring.ts';
import { passphraseStrength, type Strength } from './passphrase-strength.ts';
import type { RecordShelf } from './record-shelf.ts';
import { asShelfError, type StorageProblem } from './shelf.ts';
import { WrongTries } from './wrong-tries.ts';

/**
 * `held`: the record is only in memory just now and must first be on the device.
 * `wrong-passphrase`: nothing was changed, and trying again costs nothing but time.
 */
export type LockOutcome =
  | { kind: 'ok' }
  | Exclude<Strength, { kind: 'strong' }>
  | { kind: 'wrong-passphrase' }
  /** After several wrong ones: for so long no other is tried. */
  | { kind: 'wait'; waitMs: number }
  | { kind: 'not-locked' }
  | { kind: 'already-locked' }
  | { kind: 'locked' }
  | { kind: 'missing' }
  | { kind: 'damaged' }
  | { kind: 'held' }
  /** Another window records it: what is said there must stay writable. */
  | { kind: 'running' }
  /** A document of it waits in the outbox, which needs its key. */
  | { kind: 'waits-to-be-sent' }
  | { kind: 'failed'; why: StorageProblem };

/** Locking of records with a passphrase (keyring.ts). A forgotten passphrase is final: nothing else opens it. */
export function recordLocks(
  device: RecordShelf,
  held: HeldRecords,
  keys: Map<string, CryptoKey>,
  elsewhere: (recordId: string) => Promise<boolean>,
  /** Destroys the key that opened it without a passphrase. */
  destroyKey: (recordId: string) => Promise<void>,
) {
  const alone = (recordId: string, work: () => Promise<LockOutcome>): Promise<LockOutcome> =>
    exclusively(`record ${recordId}`, async () => {
      if (held.has(recordId)) return { kind: 'held' };
      try {
        return await work();
      } catch (error) {
        const { problem } = asShelfError(error);
        return { kind: 'failed', why: problem === 'taken' ? 'storage-failed' : problem };
      }
    });

  /** The box of a locked record, or why there is none. */
  async function boxOf(recordId: string): Promise<{ kind: 'box'; box: LockBox } | LockOutcome> {
    const header = await device.header(recordId);
    if (!header) return { kind: 'missing' };
    return header.lock ? { kind: 'box', box: header.lock } : { kind: 'not-locked' };
  }

  const tries = new WrongTries();

  /** The key, or why it was not tried or does not open the box. */
  async function open(
    recordId: string,
    box: LockBox,
    passphrase: string,
  ): Promise<CryptoKey | { kind: 'wait'; waitMs: number } | { kind: 'wrong-passphrase' }> {
    const waitMs = tries.waitMs(recordId, performance.now());
    if (waitMs > 0) return { kind: 'wait', waitMs };
    const key = await openLock(box, passphrase);
    if (key) tries.right(recordId);
    else tries.wrong(recordId, performance.now());
    return key ?? { kind: 'wrong-passphrase' };
  }

  return {
    /** Encrypts a record in place; it stays open in this window until closeLock or the window's end. */
    lockRecord: (recordId: string, passphrase: string) =>
      alone(recordId, async () => {
        const strength = await passphraseStrength(passphrase);
        if (strength.kind !== 'strong') return strength;
        if (await elsewhere(recordId)) return { kind: 'running' };
        const there = await device.read(recordId);
        if (there.kind !== 'ok') return there;
        if (there.lock) return { kind: 'already-locked' };
        const documents = await device.documents(recordId);
        if (documents.waiting) return { kind: 'waits-to-be-sent' };
        const { box, key } = await newLock(passphrase);
        await device.relock(there.file, box, key);
        keys.set(recordId, key);
        held.remember(there.file, box);
        await destroyKey(recordId);
        if (documents.items.length > 0) await device.keepDocuments(documents.items);
        return { kind: 'ok' };
      }),

    /** Opens a locked record in this window. A wrong passphrase changes nothing. */
    unlockRecord: async (recordId: string, passphrase: string): Promise<LockOutcome> => {
      const unlock = async (): Promise<LockOutcome> => {
        const found = await boxOf(recordId);
        if (found.kind !== 'box') return found;
        const key = await open(recordId, found.box, passphrase);
        if ('kind' in key) return key;
        keys.set(recordId, key);
        return { kind: 'ok' };
      };
      if (held.why(recordId) !== 'locked-elsewhere') return alone(recordId, unlock);
      // What was said after the lock lies in this window's memory: with the key it goes to the device.
      const opened = await unlock();
      if (opened.kind === 'ok') await held.bringBack(recordId);
      return opened;
    },

    /** Forgets the key in this window: the passphrase is needed again. */
    closeLock(recordId: string): void {
      if (held.has(recordId)) return;
      keys.delete(recordId);
      held.forget(recordId);
    },

    /** Decrypts a record in place; the passphrase must be given even where it is open. */
    unlockForGood: (recordId: string, passphrase: string) =>
      alone(recordId, async () => {
        const found = await boxOf(recordId);
        if (found.kind !== 'box') return found;
        const key = await open(recordId, found.box, passphrase);
        if ('kind' in key) return key;
        keys.set(recordId, key);
        const there = await device.read(recordId);
        if (there.kind !== 'ok') return there;
        await device.relock(there.file, undefined, undefined);
        keys.delete(recordId);
        held.remember(there.file);
        return { kind: 'ok' };
      }),

    /** Changes only what opens the key: the record itself is not written again. */
    changePassphrase: (recordId: string, old: string, passphrase: string) =>
      alone(recordId, async () => {
        const strength = await passphraseStrength(passphrase);
        if (strength.kind !== 'strong') return strength;
        const found = await boxOf(recordId);
        if (found.kind !== 'box') return found;
        const key = await open(recordId, found.box, old);
        if ('kind' in key) return key;
        const box = await changeLock(found.box, old, passphrase);
        if (!box) return { kind: 'wrong-passphrase' };
        await device.rebox(recordId, box);
        return { kind: 'ok' };
      }),
  };
}
