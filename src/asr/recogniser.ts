import { PreTrainedTokenizer, WhisperFeatureExtractor } from '@xenova/transformers';
import type { Doubt, Heard, Reading } from '../core/interpret/interpretation.ts';
import { doubtsAbout, type Spelling } from './doubts.ts';
import { filledWindow } from './fill-window.ts';
import { readGreedily, type DecodingSizes, type TokenReading } from './greedy.ts';
import { ALL_RIVALS } from '../core/interpret/decide/rivals.ts';
import { tokenBound } from './guards.ts';
import type { CheckedFiles } from './model-files.ts';
import type { Runtime, Tensor } from './runtime.ts';

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
  doubts: readonly Doubt[];
  speechMs: number;
}

const FOLDER = 'callout-tiny/';
/** The text exactly as it was written, spaces before marks and all. */
const TOKENIZER_OPTIONS = { clean_up_tokenization_spaces: false };

/** Marks with which the untouched decoder ends a line, before the end token. */
const CLOSING_MARKS = ['.', '!', '?', ','];

/** A function of its own: a closure beside the recogniser's would keep all the files' bytes for as long as it lives. */
const jsonOf = (files: CheckedFiles, name: string): unknown =>
  JSON.parse(new TextDecoder().decode(files.get(FOLDER + name)));

/** Opens the recogniser from checked bytes (model-files.ts) on the given runtime. */
export async function createRecogniser(options: {
  files: CheckedFiles;
  runtime: Runtime;
}): Promise<Recogniser> {
  const { files, runtime } = options;
  const sizes = jsonOf(files, 'model.json') as DecodingSizes;
  const extractFeatures = new WhisperFeatureExtractor(jsonOf(files, 'preprocessor_config.json') as object);
  const tokenizer = new PreTrainedTokenizer(jsonOf(files, 'tokenizer.json') as object, TOKENIZER_OPTIONS);
  const windowSamples = extractFeatures.config.n_samples as number;
  const hearing = await runtime.open(files.get(FOLDER + 'hearing.onnx'));
  const decoding = await runtime.open(files.get(FOLDER + 'decoding.onnx'));

  const reading = ({ ids, logProbabilities, stopped }: TokenReading): Reading => ({
    text: ids.length === 0 ? '' : tokenizer.decode(ids, { skip_special_tokens: true }).trim(),
    logProbabilities,
    ...(stopped === 'end' ? {} : { cutShort: stopped }),
  });

  const tokensOf = (text: string): number[] =>
    tokenizer.encode(text, null, { add_special_tokens: false }) as number[];
  const rivalTokens = new Map(ALL_RIVALS.map((word) => [word, tokensOf(` ${word}`)]));
  const spelling: Spelling = {
    textOf: (id) => tokenizer.decode([id]),
    tokensOf: (word) => rivalTokens.get(word)!,
    closing: [sizes.end, ...CLOSING_MARKS.flatMap((mark) => tokensOf(mark).slice(0, 1))],
  };

  return {
    async recognise(samples, speechMs, goOn = async () => true) {
      const { input_features } = (await extractFeatures(filledWindow(samples, windowSamples))) as {
        input_features: Tensor;
      };
      const mel = runtime.floats(input_features.data as Float32Array, input_features.dims);
      if (!(await goOn())) return null;
      const cross = await hearing.run({ mel });
      const both = await readGreedily(runtime, decoding, sizes, cross, tokenBound(speechMs), goOn);
      if (both === null) return null;
      const [tuned, untouched] = both as [TokenReading, TokenReading];
      if (!(await goOn())) return null;
      const doubts =
        tuned.ids.length === 0 ? [] : await doubtsAbout(runtime, decoding, sizes, cross, tuned.ids, spelling);
      return { tuned: reading(tuned), untouched: reading(untouched), doubts, speechMs };
    },
    async release() {
      await hearing.release();
      await decoding.release();
    },
  };
}
