import type { CheckedFiles } from './model-files.ts';
import type { Runtime, Tensor } from './runtime.ts';

/** Samples of one step at 16 kHz (32 ms), fixed by Silero VAD v5 and v6. */
export const FRAME = 512;
/** Samples of the step before that the model wants to see again. Source: silero-vad, utils_vad.py, OnnxWrapper. */
const CONTEXT = 64;

/** Probability, 0…1, that the frame of FRAME samples holds speech. Frames must come in order. */
export type SpeechProbability = (frame: Float32Array) => Promise<number>;

/** Opens the voice-activity model: each call of the result is one listener with a memory of its own. */
export async function openSilero(files: CheckedFiles, runtime: Runtime): Promise<() => SpeechProbability> {
  const session = await runtime.open(files.get('silero-vad/silero_vad_v6_16k.onnx'));
  return () => {
    let state: Tensor = runtime.floats(new Float32Array(2 * 128), [2, 1, 128]);
    const input = new Float32Array(CONTEXT + FRAME);
    return async (frame) => {
      input.copyWithin(0, FRAME);
      input.set(frame, CONTEXT);
      const out = await session.run({
        input: runtime.floats(input, [1, input.length]),
        state,
      });
      state = out['stateN']!;
      return (out['output']!.data as Float32Array)[0]!;
    };
  };
}
