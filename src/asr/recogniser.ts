import type { Heard, Reading } from '../core/interpret/interpretation.ts';
import { readGreedily, type DecodingSizes, type TokenReading } from './greedy.ts';
import { tokenBound } from './guards.ts';
import { makeLogMel, type MelSizes } from './log-mel.ts';
import type { CheckedFiles } from './model-files.ts';
import type { Runtime } from './runtime.ts';
import { makeDetokeniser } from './tokens.ts';

export interface Recogniser {
  /**
   * Reads one utterance. `samples`: mono, 16 kHz, −1…1, at most the model's window (8 s; the rest is cut).
   * `speechMs`: length of the speech in it, for the length bound.
   * `goOn`, asked between steps (about 15 ms apart), may let other work in; after false the result is null.
   */
  recognise(
    samples: Float32Array,
    speechMs: number,
    goOn?: () => Promise<boolean>,
  ): Promise<HeardTwice | null>;
  release(): Promise<void>;
}

/** Both decoders' readings of the same sound. */
export interface HeardTwice extends Heard {
  untouched: Reading;
  speechMs: number;
}

type ModelSizes = MelSizes & DecodingSizes;

const FOLDER = 'callout-tiny/';

/** Opens the recogniser from checked bytes (model-files.ts) on the given runtime. */
export async function createRecogniser(options: {
  files: CheckedFiles;
  runtime: Runtime;
}): Promise<Recogniser> {
  const { files, runtime } = options;
  const json = (name: string): unknown => JSON.parse(new TextDecoder().decode(files.get(FOLDER + name)));
  const sizes = json('model.json') as ModelSizes;
  const detokenise = makeDetokeniser(json('tokens.json') as string[]);
  const logMel = makeLogMel(sizes);
  const hearing = await runtime.open(files.get(FOLDER + 'hearing.onnx'));
  const decoding = await runtime.open(files.get(FOLDER + 'decoding.onnx'));
  const frames = (sizes.windowSeconds * sizes.sampleRate) / sizes.hop;

  const reading = ({ ids, logProbabilities, stopped }: TokenReading): Reading => ({
    text: detokenise(ids).trim(),
    logProbabilities,
    ...(stopped === 'end' ? {} : { cutShort: stopped }),
  });

  return {
    async recognise(samples, speechMs, goOn = async () => true) {
      const mel = runtime.floats(logMel(samples), [1, sizes.mels, frames]);
      if (!(await goOn())) return null;
      const cross = await hearing.run({ mel });
      const both = await readGreedily(runtime, decoding, sizes, cross, tokenBound(speechMs), goOn);
      if (both === null) return null;
      return { tuned: reading(both[0]!), untouched: reading(both[1]!), speechMs };
    },
    async release() {
      await hearing.release();
      await decoding.release();
    },
  };
}
