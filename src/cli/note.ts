import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { zipTables } from '../app/zip-tables.ts';
import { deriveFacts } from '../core/facts/derive.ts';
import { foldRecord } from '../core/log/fold.ts';
import { buildNote } from '../core/note/build.ts';
import { noteFhir } from '../core/note/fhir.ts';
import { noteHtml } from '../core/note/html.ts';
import type { Note } from '../core/note/model.ts';
import { noteTables } from '../core/note/tables/csv.ts';
import { noteText } from '../core/note/text.ts';
import { importRecord } from '../core/record/import.ts';
import { importUnitList } from '../core/vocabulary/unit-list.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';

const USAGE = `Usage: npm run -s note -- RECORD.json [--format text|html|csv|fhir] [--practice] [--how-heard] [--words UNIT.json]
Writes the note of an exported record to standard output; csv is a zip of tables, so send it to a file. The FHIR document of a practice record is
made only with --practice, and carries its mark. --how-heard adds both readings of each line.
--words names a unit's own list of words, as the settings export it, where the record holds call-outs of that unit.`;

const RENDERINGS: Record<string, (note: Note) => string | Uint8Array> = {
  text: noteText,
  html: noteHtml,
  csv: (note) => zipTables(noteTables(note)),
  fhir: noteFhir,
};

function fail(message: string): never {
  process.stderr.write(`${message}\n`);
  process.exit(2);
}

function options(): { path: string; format: string; practice: boolean; howHeard: boolean; words?: string } {
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: {
        format: { type: 'string', default: 'text' },
        practice: { type: 'boolean', default: false },
        'how-heard': { type: 'boolean', default: false },
        words: { type: 'string' },
      },
    });
    if (positionals.length !== 1)
      fail(`One record file is needed, ${positionals.length} were given.\n${USAGE}`);
    return {
      path: positionals[0]!,
      format: values.format,
      practice: values.practice,
      howHeard: values['how-heard'],
      words: values.words,
    };
  } catch (error) {
    return fail(`${error instanceof Error ? error.message : String(error)}\n${USAGE}`);
  }
}

function read(path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    return fail(`The file ${path} cannot be read. Nothing was written. Check the name and try again.`);
  }
}

function vocabularyWith(words: string | undefined): Vocabulary {
  if (words === undefined) return loadVocabulary();
  const list = importUnitList(read(words), loadVocabulary);
  return list.kind === 'refused' ? fail(`${words}: ${list.sentence}`) : loadVocabulary(list.unit);
}

const { path, format, practice, howHeard, words } = options();
const render = Object.hasOwn(RENDERINGS, format) ? RENDERINGS[format] : undefined;
if (render === undefined) fail(`The format "${format}" is not known.\n${USAGE}`);
if (format === 'csv' && process.stdout.isTTY) {
  fail(
    'The tables are a zip, which a terminal cannot show. Nothing was written. Send it to a file: > tables.zip',
  );
}
const vocabulary = vocabularyWith(words);
const result = importRecord(read(path), vocabulary);
if (result.kind === 'refused') fail(`${path}: ${result.sentence}`);
const view = foldRecord(result.file);
if (view.mode === 'practice' && format === 'fhir' && !practice) {
  fail(
    'This is a practice record: no FHIR document was written. Ask for it with --practice; it will carry the practice mark.',
  );
}
process.stdout.write(render(buildNote(result.file, view, deriveFacts(view), vocabulary, { howHeard })));
