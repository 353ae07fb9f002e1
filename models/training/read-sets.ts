/**
 * What a model writes for sets of recordings, as JSON lines to measure and to choose thresholds from:
 *
 *   npx tsx models/training/read-sets.ts --models models --name handed-over --every 1 SET… >> readings.jsonl
 *
 * SET: a folder of NAME.wav (16 kHz, one call-out
 * each) with NAME.txt and NAME.json. Each clip goes to the recogniser whole: this measures hearing and understanding,
 * not segmenting. One line a clip: {model, set, name, snr, kind, said, heard (both readings with log-probabilities,
 * speechMs), again (the same of listenings at other speeds, where the first is unsure), expected, audioMs}. 0.2 s a
 * clip on a free core.
 */
import { readdir, readFile } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { listenAgain } from '../../src/asr/listen-again.ts';
import { readWav } from '../../src/audio/wav.ts';
import type { Heard } from '../../src/core/interpret/interpretation.ts';
import { interpretListened } from '../../src/core/interpret/decide/listen-again.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { openModels } from '../../src/lab/open-models.ts';

/** Silence that the sets hold before and after the speech, ms. */
const PADDING_MS = 800;

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    models: { type: 'string', default: 'models' },
    name: { type: 'string' },
    every: { type: 'string', default: '1' },
    first: { type: 'string', default: '0' },
  },
});

const vocabulary = loadVocabulary();

async function textIn(file: string): Promise<string | null> {
  return readFile(file, 'utf8').catch(() => null);
}

const { recogniser } = await openModels(values.models);
for (const folder of positionals) {
  const [set, noise = 'quiet', snr = null, ...more] = basename(folder).split('.');
  const kind = more.includes('room') ? `${noise} in a room` : noise;
  const names = (await readdir(folder)).filter((name) => name.endsWith('.wav')).sort();
  for (const name of names.filter((_, k) => k % Number(values.every) === Number(values.first))) {
    const sound = readWav(await readFile(join(folder, name)));
    const audioMs = Math.round((sound.samples.length / sound.sampleRate) * 1000);
    const speechMs = audioMs - PADDING_MS;
    const heard = (await recogniser.recognise(sound.samples, speechMs))!;
    const again: Heard[] = [];
    while (interpretListened(heard, again, { asking: false }, vocabulary).more) {
      const another = await listenAgain(recogniser, sound.samples, speechMs, again.length);
      if (another === null) break;
      again.push(another);
    }
    const stem = join(folder, name.replace(/\.wav$/, ''));
    const expected = await textIn(`${stem}.json`);
    process.stdout.write(
      `${JSON.stringify({
        model: values.name ?? values.models,
        set,
        kind,
        snr: snr === null ? null : Number(snr),
        name,
        said: await textIn(`${stem}.txt`),
        expected: expected === null ? null : (JSON.parse(expected) as { entries: unknown[] }).entries,
        heard,
        ...(again.length > 0 ? { again } : {}),
        audioMs,
      })}\n`,
    );
  }
}
await recogniser.release();
