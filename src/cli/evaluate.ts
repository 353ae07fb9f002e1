import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import type { Entry } from '../core/entry.ts';
import { foldRecord } from '../core/log/fold.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { readSound, refuse } from './files.ts';
import { hearRecord } from './hear-record.ts';
import { openModels } from '../lab/open-models.ts';
import { score, scoreText, type TimedEntry, type Trial } from './score.ts';

/**
 * npm run -s evaluate -- DIR [--json FILE]
 *
 * DIR holds NAME.wav with NAME.json: {"entries": […]}, empty for speech that must log nothing. An entry may carry
 * `onsetMs`, when its speech began. Every recording goes through the whole path; what the record holds at its end
 * is compared with what was spoken. Errors: a sentence on standard error, exit code 2.
 */
type GivenEntry = Entry & { onsetMs?: number };

const { positionals, values } = parseArgs({ allowPositionals: true, options: { json: { type: 'string' } } });
const [folder] = positionals;
if (!folder) refuse('Name a folder of recordings: npm run -s evaluate -- DIR');

async function expectedIn(file: string): Promise<TimedEntry[]> {
  let entries: GivenEntry[] | undefined;
  try {
    ({ entries } = JSON.parse(await readFile(file, 'utf8')) as { entries?: GivenEntry[] });
  } catch (error) {
    refuse(`${file} cannot be read: ${(error as Error).message}`);
  }
  if (!Array.isArray(entries)) refuse(`${file} does not name its entries: {"entries": […]}.`);
  return entries.map(({ onsetMs, ...entry }) => ({ entry, onsetMs }));
}

const listed = await readdir(folder).catch(() => refuse(`${folder}: there is no such folder.`));
const names = listed.filter((name) => name.toLowerCase().endsWith('.wav')).sort();
if (names.length === 0) refuse(`${folder} holds no WAV file.`);

const vocabulary = loadVocabulary();
const models = await openModels().catch((error: Error) => refuse(error.message));
const trials: Trial[] = [];
for (const [k, name] of names.entries()) {
  const file = join(folder, name);
  const sound = await readSound(file);
  const expected = await expectedIn(file.replace(/\.wav$/i, '.json'));
  const { record, sound: heard } = await hearRecord(models, sound, vocabulary, Date.now());
  const view = foldRecord(record);
  trials.push({
    name,
    audioMs: heard.audioMs,
    expected,
    accepted: view.entries
      .filter(({ status }) => status === 'logged')
      .map(({ entry, atMs, timing }) => ({ entry, onsetMs: timing === 'heard' ? atMs : undefined })),
    asked: view.questions.filter(({ state }) => state === 'open').flatMap(({ entries }) => entries),
  });
  if (process.stderr.isTTY) process.stderr.write(`\r${k + 1} of ${names.length} `);
}
if (process.stderr.isTTY) process.stderr.write('\r');

const result = score(trials);
process.stdout.write(`${scoreText(result)}\n`);
if (values.json) await writeFile(values.json, `${JSON.stringify({ score: result, trials }, null, 1)}\n`);
