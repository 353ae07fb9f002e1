import { deriveFacts } from '../core/facts/derive.ts';
import { foldRecord } from '../core/log/fold.ts';
import type { RecordFile } from '../core/log/events.ts';
import type { RecordView } from '../core/log/view.ts';
import { buildNote } from '../core/note/build.ts';
import { noteFhir } from '../core/note/fhir.ts';
import { noteHtml } from '../core/note/html.ts';
import { noteTables, type TableFile } from '../core/note/tables/csv.ts';
import { noteText } from '../core/note/text.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import type { Closing } from '../core/log/closing.ts';
import { exportRecord } from '../core/record/export.ts';

/** `json` is the record itself, as the app imports it again; the others are made for clinical use. */
export const FORMATS = ['text', 'html', 'csv', 'json', 'fhir'] as const;
export type ExportFormat = (typeof FORMATS)[number];

const KINDS: Record<ExportFormat, { ending: string; mediaType: string }> = {
  text: { ending: 'txt', mediaType: 'text/plain;charset=utf-8' },
  html: { ending: 'html', mediaType: 'text/html;charset=utf-8' },
  csv: { ending: 'csv.zip', mediaType: 'application/zip' },
  json: { ending: 'json', mediaType: 'application/json' },
  fhir: { ending: 'fhir.json', mediaType: 'application/fhir+json' },
};

/** Formats that are one text. */
export type TextFormat = Exclude<ExportFormat, 'csv'>;

interface Named {
  name: string;
  mediaType: string;
}
export interface TextFile extends Named {
  text: string;
}
/** Several tables that go into one ZIP (zip-tables.ts). */
export interface TablesFile extends Named {
  tables: TableFile[];
}

/** `practice`: a drill gives no clinical document unless it is asked for. */
export type ExportOutcome<Made> = { kind: 'file'; file: Made } | { kind: 'refused'; why: 'practice' };

/**
 * Name of an exported file: date and time of the record and the start of its id. A reference is left
 * out, because file names are read by people and programs that must not know whose record it is.
 */
export function exportName(file: RecordFile, view: RecordView, format: ExportFormat): string {
  const day = file.createdAt.slice(0, 10);
  const time = file.createdAt.slice(11, 16).replace(':', '');
  const id = file.recordId.replace(/[^A-Za-z0-9]/g, '').slice(0, 8) || 'record';
  const mark = view.mode === 'practice' ? 'PRACTICE_' : '';
  return `${mark}utterlog_${day}_${time}_${id}.${KINDS[format].ending}`;
}

interface Content {
  /** With the unit's own words, where there are any. */
  vocabulary?: Vocabulary;
  /** The document that a FHIR document takes the place of. */
  replaces?: { system: string; value: string };
  /** What the record itself ends with (signedClosing). */
  closing?: Closing;
  /** Adds both readings of each line to text and HTML. */
  howHeard?: boolean;
}

type Options = Content & { practiceAskedFor: boolean };

/**
 * One record in one format.
 * @param options.practiceAskedFor a person asked for this document of a practice record; it carries its mark.
 */
export function makeExport(file: RecordFile, format: TextFormat, options: Options): ExportOutcome<TextFile>;
export function makeExport(
  file: RecordFile,
  format: ExportFormat,
  options: Options,
): ExportOutcome<TextFile | TablesFile>;
export function makeExport(
  file: RecordFile,
  format: ExportFormat,
  options: Options,
): ExportOutcome<TextFile | TablesFile> {
  const view = foldRecord(file);
  if (view.mode === 'practice' && format !== 'json' && !options.practiceAskedFor) {
    return { kind: 'refused', why: 'practice' };
  }
  const { mediaType } = KINDS[format];
  const name = exportName(file, view, format);
  return { kind: 'file', file: { name, mediaType, ...contentOf(file, view, format, options) } };
}

function contentOf(
  file: RecordFile,
  view: RecordView,
  format: ExportFormat,
  { vocabulary = loadVocabulary(), replaces, closing, howHeard }: Content,
): { text: string } | { tables: TableFile[] } {
  if (format === 'json') return { text: exportRecord(file, closing) };
  const note = buildNote(file, view, deriveFacts(view), vocabulary, { howHeard });
  switch (format) {
    case 'text':
      return { text: noteText(note) };
    case 'html':
      return { text: noteHtml(note) };
    case 'csv':
      return { tables: noteTables(note) };
    case 'fhir':
      return { text: noteFhir(note, replaces) };
  }
}

/** Puts the note on the clipboard as plain text, which every record system takes. False where the browser refuses. */
export async function copyText(words: string): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(words);
    return true;
  } catch {
    return false;
  }
}
