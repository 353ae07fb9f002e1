import { deviceShelf } from './records.ts';
import { asShelfError, type StorageProblem } from './shelf.ts';

const key = ['settings'] as const;
let inMemory: Record<string, unknown> = {};

/**
 * Settings as one plain object; what is missing comes from `defaults`. Where the device cannot be read, those of
 * this window.
 */
export async function readSettings<S extends object>(defaults: S): Promise<S> {
  try {
    inMemory = { ...inMemory, ...(await deviceShelf.get<Record<string, unknown>>(key)) };
  } catch {
    // The window's own settings serve; records.keeping() tells the person of a device that keeps nothing.
  }
  const known = Object.keys(defaults) as (keyof S & string)[];
  return known.reduce((all, name) => (name in inMemory ? { ...all, [name]: inMemory[name] } : all), defaults);
}

/** Changes some settings. `unkept`: they hold in this window until it closes. */
export async function writeSettings(
  changes: Record<string, unknown>,
): Promise<{ kind: 'ok' } | { kind: 'unkept'; why: StorageProblem }> {
  inMemory = { ...inMemory, ...(JSON.parse(JSON.stringify(changes)) as Record<string, unknown>) };
  try {
    const before = await deviceShelf.get<Record<string, unknown>>(key);
    await deviceShelf.write([{ kind: 'put', key, value: { ...before, ...inMemory } }]);
    return { kind: 'ok' };
  } catch (error) {
    const { problem } = asShelfError(error);
    return { kind: 'unkept', why: problem === 'taken' ? 'storage-failed' : problem };
  }
}

export function forgetSettings(): void {
  inMemory = {};
}
