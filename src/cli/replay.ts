import { randomUUID } from 'node:crypto';
import { readFile, writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import { readWav, WavError, type Sound } from '../audio/wav.ts';
import { sealEvents } from '../core/log/chain.ts';
import type { RecordFile } from '../core/log/events.ts';
import { foldRecord } from '../core/log/fold.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { takeIn } from '../core/log/take-in.ts';
import { loadVocabulary } from '../core/vocabulary/load.ts';
import { hearSound, type HeardEvent } from './hear-sound.ts';
import { openModels } from './lab/open-models.ts';

/**
 * npm run -s replay -- FILE.wav… [--record FILE.json]
 *
 * Recordings through the code that the browser runs. One JSON line per utterance, then a summary line.
 * --record also writes the record that results. Errors: a sentence on standard error, exit code 2.
 */
function refuse(sentence: string): never {
  process.stderr.write(`${sentence}\n`);
  process.exit(2);
}

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

async function readSound(file: string): Promise<Sound> {
  try {
    return readWav(await readFile(file));
  } catch (error) {
    if (error instanceof WavError) return refuse(`${file}: ${error.message}`);
    const { code, message } = error as NodeJS.ErrnoException;
    return refuse(
      code === 'ENOENT' ? `${file}: there is no such file.` : `${file} cannot be read: ${message}`,
    );
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
  const wallMs = Date.now();
  const recordFile: RecordFile = createRecordFile({
    recordId: randomUUID(),
    mode: 'real',
    wallMs,
    createdAt: new Date(wallMs).toISOString(),
    timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
  });
  const take = ({ onsetMs, endMs, heard }: HeardEvent): void => {
    const view = foldRecord(recordFile);
    const { interpretation, bodies } = takeIn({ onsetMs, endMs, heard }, view, vocabulary, randomUUID);
    const madeAt = new Date(wallMs + endMs).toISOString();
    const made = { by: { kind: 'voice' }, madeAtMs: endMs, madeAt } as const;
    recordFile.events.push(...sealEvents(recordFile.events.at(-1) ?? null, bodies, made));
    const { confidence, ...meaning } = interpretation;
    const words = { heard: heard.tuned.text, heardSecond: heard.untouched.text };
    process.stdout.write(
      `${JSON.stringify({ file: files[k], onsetMs, endMs, ...words, confidence, ...meaning })}\n`,
    );
  };
  const { audioMs, computeMs, heard } = await hearSound(models, sound, take);
  total.audioMs += audioMs;
  total.computeMs += computeMs;
  total.utterances += heard.length;
  if (record) {
    await writeFile(record, JSON.stringify(recordFile, null, 1)).catch((error: Error) =>
      refuse(`The record could not be written: ${error.message}`),
    );
  }
}
process.stdout.write(`${JSON.stringify({ summary: total })}\n`);
