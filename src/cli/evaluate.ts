import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import type { Entry } from '../core/entry.ts';
import { foldRecord } from '../core/log/fold.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { readSound, refuse } from './files.ts';
import { hearRecord } from './hear-record.ts';
import { drillFigures, drillGroups, drillRefusal, drillText, type DrillPlace } from './drills.ts';
import { openModels } from '../lab/open-models.ts';
import { score, scoreText, type TimedEntry, type Trial } from './score.ts';

/**
 * npm run -s evaluate -- DIR [--json FILE]
 * npm run -s evaluate -- --drills DIR [--figures FILE]
 *
 * DIR holds NAME.wav with NAME.json: {"entries": […]}, empty for speech that must log nothing. An entry may carry
 * `onsetMs`, when its speech began. Every recording goes through the whole path; what the record holds at its end
 * is compared with what was spoken. Of drills each JSON file must also hold "consent": true and may hold "role",
 * "distanceM" and "noise": the same figures by each of them, and with --figures as a file without sound, words or names
 * of files. Errors: a sentence on standard error, exit code 2.
 */
type GivenEntry = Entry & { onsetMs?: number };

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { json: { type: 'string' }, drills: { type: 'string' }, figures: { type: 'string' } },
});
const folder = values.drills ?? positionals[0];
if (values.figures && !values.drills) refuse('Figures are made of drills: --drills DIR --figures FILE.');
if (!folder) refuse('Name a folder of recordings: npm run -s evaluate -- DIR');

async function toldIn(file: string): Promise<{ expected: TimedEntry[]; place: DrillPlace }> {
  let told: { entries?: GivenEntry[] } & Record<string, unknown>;
  try {
    told = JSON.parse(await readFile(file, 'utf8')) as typeof told;
  } catch (error) {
    refuse(`${file} cannot be read: ${(error as Error).message}`);
  }
  const { entries } = told;
  if (!Array.isArray(entries)) refuse(`${file} does not name its entries: {"entries": […]}.`);
  const refusal = values.drills ? drillRefusal(file, told) : null;
  if (refusal) refuse(refusal);
  const expected = entries.map(({ onsetMs, ...entry }) => ({ entry, onsetMs }));
  return { expected, place: told as DrillPlace };
}

const listed = await readdir(folder).catch(() => refuse(`${folder}: there is no such folder.`));
const names = listed.filter((name) => name.toLowerCase().endsWith('.wav')).sort();
if (names.length === 0) refuse(`${folder} holds no WAV file.`);

const fileOf = (name: string): string => join(folder, name);
// All that is told is read first: a missing consent must not show after an hour.
const told = new Map(
  await Promise.all(
    names.map(async (name) => [name, await toldIn(fileOf(name).replace(/\.wav$/i, '.json'))] as const),
  ),
);

const vocabulary = loadVocabulary();
const models = await openModels().catch((error: Error) => refuse(error.message));
const trials: (Trial & { place: DrillPlace })[] = [];
for (const [k, name] of names.entries()) {
  const sound = await readSound(fileOf(name));
  const { expected, place } = told.get(name)!;
  const { record, sound: heard } = await hearRecord(models, sound, vocabulary, Date.now());
  const view = foldRecord(record);
  trials.push({
    name,
    audioMs: heard.audioMs,
    expected,
    place,
    accepted: view.entries
      .filter(({ status }) => status === 'logged')
      .map(({ entry, atMs, timing }) => ({ entry, onsetMs: timing === 'heard' ? atMs : undefined })),
    asked: view.questions.filter(({ state }) => state === 'open').flatMap(({ entries }) => entries),
  });
  if (process.stderr.isTTY) process.stderr.write(`\r${k + 1} of ${names.length} `);
}
if (process.stderr.isTTY) process.stderr.write('\r');

if (values.drills) {
  const groups = drillGroups(trials);
  process.stdout.write(`${drillText(groups)}\n`);
  if (values.figures) await writeFile(values.figures, `${JSON.stringify(drillFigures(groups), null, 1)}\n`);
} else process.stdout.write(`${scoreText(score(trials))}\n`);
if (values.json)
  await writeFile(values.json, `${JSON.stringify({ score: score(trials), trials }, null, 1)}\n`);
