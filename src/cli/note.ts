import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { deriveFacts } from '../core/facts/derive.ts';
import { foldRecord } from '../core/log/fold.ts';
import { buildNote } from '../core/note/build.ts';
import { noteCsv } from '../core/note/csv.ts';
import { noteFhir } from '../core/note/fhir.ts';
import { noteHtml } from '../core/note/html.ts';
import type { Note } from '../core/note/model.ts';
import { noteText } from '../core/note/text.ts';
import { importRecord } from '../core/record/import.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';

const USAGE = `Usage: npm run -s note -- RECORD.json [--format text|html|csv|fhir] [--practice] [--how-heard]
Writes the note of an exported record to standard output. The FHIR document of a practice record is
made only with --practice, and carries its mark. --how-heard adds both readings of each line.`;

const RENDERINGS: Record<string, (note: Note) => string> = {
  text: noteText,
  html: noteHtml,
  csv: noteCsv,
  fhir: noteFhir,
};

function fail(message: string): never {
  process.stderr.write(`${message}\n`);
  process.exit(2);
}

function options(): { path: string; format: string; practice: boolean; howHeard: boolean } {
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: {
        format: { type: 'string', default: 'text' },
        practice: { type: 'boolean', default: false },
        'how-heard': { type: 'boolean', default: false },
      },
    });
    if (positionals.length !== 1)
      fail(`One record file is needed, ${positionals.length} were given.\n${USAGE}`);
    return {
      path: positionals[0]!,
      format: values.format,
      practice: values.practice,
      howHeard: values['how-heard'],
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

const { path, format, practice, howHeard } = options();
const render = Object.hasOwn(RENDERINGS, format) ? RENDERINGS[format] : undefined;
if (render === undefined) fail(`The format "${format}" is not known.\n${USAGE}`);
const result = importRecord(read(path));
if (result.kind === 'refused') fail(`${path}: ${result.sentence}`);
const view = foldRecord(result.file);
if (view.mode === 'practice' && format === 'fhir' && !practice) {
  fail(
    'This is a practice record: no FHIR document was written. Ask for it with --practice; it will carry the practice mark.',
  );
}
process.stdout.write(render(buildNote(result.file, view, deriveFacts(view), loadVocabulary(), { howHeard })));
