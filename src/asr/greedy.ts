import { loopStart } from './guards.ts';
import { readingLogits } from './logits.ts';
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

/** The logits of one place out of all that a step gave. */
export const logitsAt = (logits: Float32Array, sizes: DecodingSizes, place: number): Float32Array =>
  logits.subarray(place * sizes.tokens, (place + 1) * sizes.tokens);

/** The caches before the first token. */
export function nothingBefore(
  runtime: Runtime,
  session: Session,
  sizes: DecodingSizes,
): Record<string, Tensor> {
  const none = runtime.floats(new Float32Array(0), [1, sizes.heads, 0, sizes.headSize]);
  return Object.fromEntries(
    session.inputNames.filter((name) => name.startsWith('past.')).map((name) => [name, none]),
  );
}

/**
 * Greedy reading by both decoders side by side, one token each per step: the library's own generate() drives
 * one decoder of one graph, and cannot keep two in step.
 * `cross` is what the hearing graph gave.
 * `between` runs before each step and may let other work in; once it says false, the reading is given up and null
 * comes back.
 */
export async function readGreedily(
  runtime: Runtime,
  session: Session,
  sizes: DecodingSizes,
  cross: Record<string, Tensor>,
  bound: number,
  between: () => Promise<boolean>,
): Promise<TokenReading[] | null> {
  const choosers = [readingLogits(sizes.end), readingLogits(sizes.end)];
  const readings: TokenReading[] = choosers.map(() => ({ ids: [], logProbabilities: [], stopped: 'length' }));
  const open = new Set(readings);
  let past = nothingBefore(runtime, session, sizes);
  let given: number[][] = readings.map(() => [...sizes.prompt]);
  const limit = Math.min(bound, sizes.positions - sizes.prompt.length);

  for (let step = 0; step <= limit && open.size > 0; step++) {
    if (!(await between())) return null;
    const ids = runtime.integers(given.flat(), [DECODERS, given[0]!.length]);
    const out = await session.run({ ...cross, ...past, ids });
    const logits = out['logits']!.data as Float32Array;
    const length = given[0]!.length;
    readings.forEach((reading, row) => {
      if (!open.has(reading)) return;
      const chooser = choosers[row]!;
      const id = chooser.next(reading.ids, logitsAt(logits, sizes, row * length + length - 1));
      if (id !== sizes.end && step === limit) return;
      reading.logProbabilities.push(chooser.logProbabilities.at(-1)!);
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
    past = Object.fromEntries(Object.keys(past).map((name) => [name, out[name.replace('past', 'present')]!]));
  }
  return readings;
}
