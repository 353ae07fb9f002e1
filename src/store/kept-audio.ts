import { newLock, openLock, seal, unseal, type LockBox, type Sealed } from './keyring.ts';
import { passphraseStrength } from './passphrase-strength.ts';
import { deviceShelf } from './records.ts';
import { asShelfError, type Shelf, type StorageProblem } from './shelf.ts';
import { WrongTries } from './wrong-tries.ts';

type Failed = { kind: 'failed'; why: StorageProblem };

const lockKey = (recordId: string) => ['audio-lock', recordId] as const;
const prefix = (recordId: string) => ['audio', recordId] as const;
const key = (recordId: string, utteranceId: string) => ['audio', recordId, utteranceId] as const;

/**
 * Recordings of utterances: kept only for a record where somebody chose it and gave a passphrase, always
 * encrypted (keyring.ts), deletable without it. After a restart the passphrase must be given again before more is kept.
 */
export function createAudioStore(shelf: Shelf) {
  const keys = new Map<string, CryptoKey>();
  const tries = new WrongTries();

  async function guarded<T>(work: () => Promise<T>): Promise<T | Failed> {
    try {
      return await work();
    } catch (error) {
      const { problem } = asShelfError(error);
      return { kind: 'failed', why: problem === 'taken' ? 'storage-failed' : problem };
    }
  }

  return {
    /** Whether recordings were chosen for this record, and whether more can be kept or heard in this window. */
    audioState: (recordId: string) =>
      guarded(async () => {
        const box = await shelf.get<LockBox>(lockKey(recordId));
        const count = (await shelf.keys(prefix(recordId))).length;
        const kind = !box
          ? ('not-chosen' as const)
          : keys.has(recordId)
            ? ('open' as const)
            : ('locked' as const);
        return { kind, count };
      }),

    /** Chooses that this record's utterances are kept from now on, or gives the passphrase again. */
    chooseAudio: (recordId: string, passphrase: string) =>
      guarded(async () => {
        const there = await shelf.get<LockBox>(lockKey(recordId));
        if (there) {
          const waitMs = tries.waitMs(recordId, performance.now());
          if (waitMs > 0) return { kind: 'wait' as const, waitMs };
          const opened = await openLock(there, passphrase);
          if (!opened) {
            tries.wrong(recordId, performance.now());
            return { kind: 'wrong-passphrase' as const };
          }
          tries.right(recordId);
          keys.set(recordId, opened);
          return { kind: 'ok' as const };
        }
        const strength = await passphraseStrength(passphrase);
        if (strength.kind !== 'strong') return strength;
        const lock = await newLock(passphrase);
        await shelf.write([{ kind: 'add', key: lockKey(recordId), value: lock.box }]);
        keys.set(recordId, lock.key);
        return { kind: 'ok' as const };
      }),

    /** Whether this window keeps the sound of this record now. */
    keepsAudio: (recordId: string): boolean => keys.has(recordId),

    /** Keeps no more in this window until the passphrase is given again; what is kept stays. */
    stopAudio: (recordId: string): void => void keys.delete(recordId),

    /** Keeps one utterance (a WAV file's bytes) where that was chosen; does nothing otherwise. */
    keepAudio: (recordId: string, utteranceId: string, wav: Uint8Array<ArrayBuffer>) =>
      guarded(async () => {
        const open = keys.get(recordId);
        // Another window may have deleted the recordings, and with them the choice.
        if (!open || !(await shelf.get(lockKey(recordId)))) {
          keys.delete(recordId);
          return { kind: 'not-kept' as const };
        }
        const sealed = await seal(open, wav);
        await shelf.write([{ kind: 'put', key: key(recordId, utteranceId), value: sealed }]);
        return { kind: 'ok' as const };
      }),

    /** One utterance's WAV bytes. `locked`: give the passphrase first (chooseAudio). */
    readAudio: (recordId: string, utteranceId: string) =>
      guarded(async () => {
        const sealed = await shelf.get<Sealed>(key(recordId, utteranceId));
        if (!sealed) return { kind: 'missing' as const };
        const open = keys.get(recordId);
        if (!open) return { kind: 'locked' as const };
        const bytes = await unseal(open, sealed);
        return bytes ? { kind: 'ok' as const, wav: new Uint8Array(bytes) } : { kind: 'damaged' as const };
      }),

    /** Deletes all recordings of a record and stops keeping more; the record stays. */
    deleteAudio: (recordId: string) =>
      guarded(async () => {
        keys.delete(recordId);
        await shelf.write([
          { kind: 'remove-all', prefix: prefix(recordId) },
          { kind: 'remove', key: lockKey(recordId) },
        ]);
        return { kind: 'ok' as const };
      }),

    forgetAudioKeys: () => keys.clear(),
  };
}

export const {
  audioState,
  chooseAudio,
  keepsAudio,
  stopAudio,
  keepAudio,
  readAudio,
  deleteAudio,
  forgetAudioKeys,
} = createAudioStore(deviceShelf);
