const name = (recordId: string) => `utterlog record runs ${recordId}`;
/** How many holds this window has of its own, per record. */
const own = new Map<string, number>();

/** Says to all windows that this one records this record, until the returned function is called or the window goes. */
export function holdRecording(recordId: string): () => void {
  let release = () => {};
  const until = new Promise<void>((resolve) => (release = resolve));
  own.set(recordId, (own.get(recordId) ?? 0) + 1);
  void navigator.locks?.request(name(recordId), { mode: 'shared' }, () => until);
  let held = true;
  return () => {
    if (held) own.set(recordId, (own.get(recordId) ?? 1) - 1);
    held = false;
    release();
  };
}

/**
 * Whether another window of this device has the record running, or any record where none is named. False where
 * the browser has no locks: then nobody answers.
 */
export async function recordedElsewhere(recordId?: string): Promise<boolean> {
  if (typeof navigator === 'undefined' || !navigator.locks?.query) return false;
  const { held = [] } = await navigator.locks.query();
  const wanted = name(recordId ?? '');
  const all = held.filter((lock) =>
    recordId === undefined ? lock.name?.startsWith(wanted) : lock.name === wanted,
  ).length;
  const mine = recordId === undefined ? [...own.values()].reduce((sum, n) => sum + n, 0) : own.get(recordId);
  return all > (mine ?? 0);
}
