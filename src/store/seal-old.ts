import { exclusively } from './exclusive.ts';
import type { Shelf, ShelfKey } from './shelf.ts';

/** Whether a value lies as a version before 0.2 kept it: readable. A locked record's events are sealed, no list. */
function isReadable(key: ShelfKey, value: unknown): boolean {
  if (key[0] === 'events') return Array.isArray(value);
  const { locked, secret } = (value ?? {}) as { locked?: boolean; secret?: unknown };
  return key[0] === 'summary' && value !== undefined && !locked && secret === undefined;
}

/**
 * Writes what an earlier version kept readable anew through the shelf that seals it, piece by piece: a cut in between
 * leaves each piece either as it was or sealed, and the next start goes on. The old words may stay in old files of the
 * database until the browser clears them.
 * @param base the shelf as it lies there; `sealing` seals what is written to it.
 * @returns how many pieces were sealed.
 */
export async function sealOldRecords(base: Shelf, sealing: Shelf): Promise<number> {
  let sealed = 0;
  for (const prefix of ['events', 'summary']) {
    for (const key of await base.keys([prefix])) {
      if (!isReadable(key, await base.get(key))) continue;
      await exclusively(`record ${String(key[1])}`, async () => {
        const value = await base.get(key);
        if (!isReadable(key, value)) return;
        await sealing.write([{ kind: 'put', key, value }]);
        sealed += 1;
      });
    }
  }
  return sealed;
}
