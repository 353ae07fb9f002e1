import { DATABASE, deviceKeys, deviceShelf, forgetAll, keeping, openKeys } from './records.ts';
import { forgetAudioKeys } from './kept-audio.ts';
import { forgetSettings } from './settings.ts';
import { recordedElsewhere } from './recorded-here.ts';
import { asShelfError, type StorageProblem } from './shelf.ts';

export type StorageCheck =
  /** `persistent`: the browser has promised not to clear it by itself under pressure. */
  { kind: 'ok'; persistent: boolean } | { kind: 'problem'; why: StorageProblem };

/** Writes, reads back and removes a small value: what the start screen calls "storage safe". */
export async function checkStorage(): Promise<StorageCheck> {
  const key = ['probe', crypto.randomUUID()];
  try {
    await deviceShelf.write([{ kind: 'put', key, value: 'x'.repeat(1024) }]);
    const there = await deviceShelf.get(key);
    await deviceShelf.write([{ kind: 'remove', key }]);
    if (there === undefined) return { kind: 'problem', why: 'storage-failed' };
    // Nothing is kept without a key; the place of the keys is made here, before anybody is in a hurry.
    await deviceKeys.forReading('probe');
    const { problem } = keeping();
    if (problem) return { kind: 'problem', why: problem };
    return { kind: 'ok', persistent: (await navigator.storage?.persisted?.()) ?? false };
  } catch (error) {
    const { problem } = asShelfError(error);
    return { kind: 'problem', why: problem === 'taken' ? 'storage-failed' : problem };
  }
}

/** Asks the browser not to clear the records under pressure; true where it agreed. Some ask the person. */
export async function requestPersistence(): Promise<boolean> {
  if (await navigator.storage?.persisted?.()) return true;
  return (await navigator.storage?.persist?.()) ?? false;
}

/** Bytes used by this app and the browser's limit for it, as the browser estimates them; null where it does not say. */
export async function storageUse(): Promise<{ usedBytes: number; limitBytes: number } | null> {
  const estimate = await navigator.storage?.estimate?.();
  if (estimate?.usage === undefined || estimate.quota === undefined) return null;
  return { usedBytes: estimate.usage, limitBytes: estimate.quota };
}

const ERASED = 'utterlog-erased';

/** Where another window erases everything, this one forgets its own copies and calls back. */
export function followErasing(erased: () => void): void {
  new BroadcastChannel(ERASED).onmessage = () => {
    forgetAll();
    forgetSettings();
    openKeys.clear();
    forgetAudioKeys();
    erased();
  };
}

/**
 * Erases every record, recording, setting and unsent delivery of this app on this device, in all its windows.
 * `running`: another window records; nothing was erased.
 * The app itself and the speech model stay, so that it still starts without a network; they hold nothing personal.
 */
export async function eraseEverything(): Promise<
  { kind: 'ok' } | { kind: 'running' } | { kind: 'failed'; why: StorageProblem }
> {
  if (await recordedElsewhere()) return { kind: 'running' };
  try {
    // Clearing first: deleting a database waits for ever where a window does not let go of it.
    await deviceShelf.write([{ kind: 'remove-all', prefix: [] }]);
    await deviceKeys.destroyAll();
  } catch (error) {
    const { problem } = asShelfError(error);
    return { kind: 'failed', why: problem === 'taken' ? 'storage-failed' : problem };
  }
  forgetAll();
  forgetSettings();
  openKeys.clear();
  forgetAudioKeys();
  localStorage.clear();
  sessionStorage.clear();
  indexedDB.deleteDatabase(DATABASE);
  const channel = new BroadcastChannel(ERASED);
  channel.postMessage(ERASED);
  channel.close();
  return { kind: 'ok' };
}
