import { join } from 'node:path';
import { loadModelFiles } from '../asr/model-files.ts';
import { folderReader } from '../asr/model-folder.ts';
import { createRecogniser, type Recogniser } from '../asr/recogniser.ts';
import { nodeRuntime } from '../asr/runtime-node.ts';
import { openSilero, type SpeechProbability } from '../asr/silero.ts';

export const MODELS = join(import.meta.dirname, '../../models');

/** Loads, checks and opens both speech models. Throws the sentence that the app would show. */
export async function openModels(
  folder = MODELS,
): Promise<{ recogniser: Recogniser; newSpeechProbability: () => SpeechProbability }> {
  const loaded = await loadModelFiles(folderReader(folder));
  if (loaded.kind !== 'ok') throw new Error(loaded.sentence);
  const { files } = loaded;
  return {
    newSpeechProbability: await openSilero(files, nodeRuntime),
    recogniser: await createRecogniser({ files, runtime: nodeRuntime }),
  };
}
