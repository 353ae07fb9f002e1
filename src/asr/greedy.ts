import { loopStart } from './guards.ts';
import type { Runtime, Session, Tensor } from './runtime.ts';

/** Sizes of the decoding graph, from model.json. */
export interface DecodingSizes {
  end: number;
  prompt: readonly number[];
  tokens: number;
  heads: number;
  headSize: number;
  positions: number;
}

/** Where a reading stopped: at its end token, going round in circles, or at the bound. */
export type Stopped = 'end' | 'repeats' | 'length';

export interface TokenReading {
  ids: number[];
  /** Natural log-probability of each id, then that of the end token where it was reached. */
  logProbabilities: number[];
  stopped: Stopped;
}

/** How many decoders the graph holds: tuned first, then untouched. */
export const DECODERS = 2;

/** The likeliest text token or the end, and its natural log-probability among those. */
function best(logits: Float32Array, from: number, end: number): { id: number; logProbability: number } {
  let id = 0;
  let top = -Infinity;
  for (let k = 0; k <= end; k++) {
    const value = logits[from + k]!;
    if (value > top) [top, id] = [value, k];
  }
  let sum = 0;
  for (let k = 0; k <= end; k++) sum += Math.exp(logits[from + k]! - top);
  return { id, logProbability: -Math.log(sum) };
}

/**
 * Greedy reading by both decoders side by side, one token each per step.
 * `cross` is what the hearing graph gave. `between` runs before each step and may let other work in;
 * once it says false, the reading is given up and null comes back.
 */
export async function readGreedily(
  runtime: Runtime,
  session: Session,
  sizes: DecodingSizes,
  cross: Record<string, Tensor>,
  bound: number,
  between: () => Promise<boolean>,
): Promise<TokenReading[] | null> {
  const readings: TokenReading[] = Array.from({ length: DECODERS }, () => ({
    ids: [],
    logProbabilities: [],
    stopped: 'length',
  }));
  const open = new Set(readings);
  const caches = session.inputNames.filter((name) => name.startsWith('past.'));
  const none = runtime.floats(new Float32Array(0), [1, sizes.heads, 0, sizes.headSize]);
  let past: Record<string, Tensor> = Object.fromEntries(caches.map((name) => [name, none]));
  let given: number[][] = readings.map(() => [...sizes.prompt]);
  const limit = Math.min(bound, sizes.positions - sizes.prompt.length);

  for (let step = 0; step <= limit && open.size > 0; step++) {
    if (!(await between())) return null;
    const ids = runtime.integers(given.flat(), [DECODERS, given[0]!.length]);
    const out = await session.run({ ...cross, ...past, ids });
    const logits = out['logits']!.data as Float32Array;
    readings.forEach((reading, row) => {
      if (!open.has(reading)) return;
      const { id, logProbability } = best(logits, row * sizes.tokens, sizes.end);
      if (id !== sizes.end && step === limit) return;
      reading.logProbabilities.push(logProbability);
      if (id === sizes.end) {
        reading.stopped = 'end';
        open.delete(reading);
        return;
      }
      reading.ids.push(id);
      const cut = loopStart(reading.ids);
      if (cut === null) return;
      reading.ids.length = cut;
      reading.logProbabilities.length = cut;
      reading.stopped = 'repeats';
      open.delete(reading);
    });
    given = readings.map((reading) => [open.has(reading) ? reading.ids.at(-1)! : sizes.end]);
    past = Object.fromEntries(caches.map((name) => [name, out[name.replace('past', 'present')]!]));
  }
  return readings;
}
