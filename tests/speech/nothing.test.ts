import { beforeAll, describe, expect, it } from 'vitest';
import { SPEECH_RATE } from '../../src/audio/resample.ts';
import type { Sound } from '../../src/audio/wav.ts';
import { hearRecord } from '../../src/cli/hear-record.ts';
import { makeNoise } from '../../src/lab/noise.ts';
import { openModels } from '../../src/lab/open-models.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { prompts, sentences } from './recordings.ts';

/** Sound that must log nothing: people who speak of something else, and rooms without people. */
const vocabulary = loadVocabulary();
let models: Awaited<ReturnType<typeof openModels>>;
beforeAll(async () => {
  models = await openModels();
});

async function loggedIn(sound: Sound): Promise<string[]> {
  const { record } = await hearRecord(models, sound, vocabulary, 0);
  return foldRecord(record).entries.map(({ entry }) => JSON.stringify(entry));
}

describe('nothing is logged', () => {
  it('from telephone prompts', async () => {
    for (const { file, sound } of prompts(20)) expect(await loggedIn(sound), file).toEqual([]);
  });

  it('from sentences of several people', async () => {
    for (const { file, sound } of sentences()) expect(await loggedIn(sound), file).toEqual([]);
  });

  it.each(['white', 'pink', 'hum', 'alarm'] as const)('from %s noise', async (kind) => {
    const samples = makeNoise(kind, 12 * SPEECH_RATE, 1).map((value) => value * 0.05);
    expect(await loggedIn({ sampleRate: SPEECH_RATE, samples })).toEqual([]);
  });

  it('from silence', async () => {
    expect(await loggedIn({ sampleRate: 48000, samples: new Float32Array(5 * 48000) })).toEqual([]);
  });
});
