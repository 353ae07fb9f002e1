import type { Recogniser } from '../asr/recogniser.ts';

/** Reads nothing: where only the segments matter, reading them would only cost time. */
export const silentRecogniser: Recogniser = {
  recognise: async (_samples, speechMs) => ({
    tuned: { text: '' },
    untouched: { text: '' },
    doubts: [],
    speechMs,
  }),
  release: async () => {},
};
