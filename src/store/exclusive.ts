const queues = new Map<string, Promise<unknown>>();

/** A window that was frozen while it held the lock must not stop the others: writes are safe without it. */
const LOCK_WAIT_MS = 3_000;

function inThisWindow<T>(name: string, work: () => Promise<T>): Promise<T> {
  const before = queues.get(name) ?? Promise.resolve();
  const mine = before.then(work, work);
  const settled = mine.catch(() => {});
  queues.set(name, settled);
  void settled.then(() => {
    if (queues.get(name) === settled) queues.delete(name);
  });
  return mine;
}

/** Runs `work` alone among all windows of the app (Web Locks), or alone in this window where there are none. */
export function exclusively<T>(name: string, work: () => Promise<T>): Promise<T> {
  return inThisWindow(name, async () => {
    if (typeof navigator === 'undefined' || !navigator.locks) return work();
    let started = false;
    const run = () => {
      started = true;
      return work();
    };
    try {
      return await navigator.locks.request(
        `utterlog ${name}`,
        { signal: AbortSignal.timeout(LOCK_WAIT_MS) },
        run,
      );
    } catch (error) {
      if (started) throw error;
      return work();
    }
  });
}
