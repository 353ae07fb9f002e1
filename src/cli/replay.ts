import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import type { Sound } from '../audio/wav.ts';
import { exportRecord } from '../core/record/export.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { readSound, refuse } from './files.ts';
import { hearRecord } from './hear-record.ts';
import { openModels } from '../lab/open-models.ts';

/**
 * npm run -s replay -- FILE.wav… [--record FILE.json]
 *
 * Recordings through the code that the browser runs. One JSON line per utterance, then a summary line.
 * --record also writes the record that results. Errors: a sentence on standard error, exit code 2.
 */
function argumentsGiven(): { files: string[]; record?: string } {
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: { record: { type: 'string' } },
    });
    return { files: positionals, record: values.record };
  } catch (error) {
    return refuse(`${(error as Error).message} Usage: npm run -s replay -- FILE.wav… [--record FILE.json]`);
  }
}

const { files, record } = argumentsGiven();
if (files.length === 0) refuse('Name at least one WAV file: npm run -s replay -- FILE.wav…');
if (record && files.length > 1)
  refuse('One record comes from one recording: name a single file with --record.');
// Every file is read before the first is heard, so that a mistake in the last one shows at once.
const sounds: Sound[] = [];
for (const file of files) sounds.push(await readSound(file));

const vocabulary = loadVocabulary();
const models = await openModels().catch((error: Error) => refuse(error.message));
const total = { audioMs: 0, computeMs: 0, utterances: 0 };

for (const [k, sound] of sounds.entries()) {
  const file = files[k];
  const { record: result, sound: heardSound } = await hearRecord(
    models,
    sound,
    vocabulary,
    Date.now(),
    ({ onsetMs, endMs }, { heard, meaning }) => {
      const words = { heard: heard.tuned.text, heardSecond: heard.untouched?.text };
      process.stdout.write(`${JSON.stringify({ file, onsetMs, endMs, ...words, ...meaning })}\n`);
    },
  );
  total.audioMs += heardSound.audioMs;
  total.computeMs += heardSound.computeMs;
  total.utterances += heardSound.heard.length;
  if (record) {
    await writeFile(record, exportRecord(result)).catch((error: Error) =>
      refuse(`The record could not be written: ${error.message}`),
    );
  }
}
process.stdout.write(`${JSON.stringify({ summary: total })}\n`);
