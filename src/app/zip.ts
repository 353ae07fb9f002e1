import { strToU8, Zip, ZipDeflate } from 'fflate';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import type { RecordFile } from '../core/log/events.ts';
import { signedClosing } from './closing.ts';
import { makeExport, type ExportFormat } from './exports.ts';
import { turnTaker } from './turns.ts';

export interface ZipProgress {
  done: number;
  all: number;
}

export type ZipOutcome =
  /** `left`: records that could not be read (locked, damaged, gone), by id. */
  { kind: 'zip'; bytes: Uint8Array<ArrayBuffer>; files: number; left: string[] } | { kind: 'cancelled' };

/**
 * Packs many records into one ZIP, each in each format. Practice records give their JSON, and clinical
 * documents only where they are asked for.
 * @param read gives a record, or null where it cannot be read.
 */
export async function zipRecords(
  recordIds: readonly string[],
  read: (recordId: string) => Promise<RecordFile | null>,
  options: {
    /** The tables of a record stand in a folder of their own. */
    formats: readonly ExportFormat[];
    practiceAskedFor: boolean;
    vocabulary?: Vocabulary;
    onProgress: (progress: ZipProgress) => void;
    signal: AbortSignal;
  },
): Promise<ZipOutcome> {
  const chunks: Uint8Array[] = [];
  let failure: Error | null = null;
  let files = 0;
  const zip = new Zip((error, chunk) => {
    if (error) failure = error;
    else chunks.push(chunk);
  });
  const names = new Set<string>();
  const left: string[] = [];
  const turn = turnTaker();
  for (const [at, recordId] of recordIds.entries()) {
    const file = await read(recordId);
    if (file === null) left.push(recordId);
    else {
      for (const format of options.formats) {
        const closing = format === 'json' ? await signedClosing(file) : undefined;
        const made = makeExport(file, format, { ...options, closing });
        if (made.kind === 'file') {
          const name = unused(made.file.name, names);
          const folder = name.replace(/\.csv\.zip$/, '_csv');
          const parts =
            'text' in made.file
              ? [{ name, text: made.file.text }]
              : made.file.tables.map((table) => ({ ...table, name: `${folder}/${table.name}` }));
          for (const part of parts) add(zip, part.name, part.text);
          files += parts.length;
        }
      }
    }
    options.onProgress({ done: at + 1, all: recordIds.length });
    await turn();
    if (options.signal.aborted) {
      zip.terminate();
      return { kind: 'cancelled' };
    }
  }
  zip.end();
  if (failure !== null) throw failure as Error;
  return { kind: 'zip', bytes: joined(chunks), files, left };
}

function add(zip: Zip, name: string, words: string): void {
  const entry = new ZipDeflate(name, { level: 6 });
  zip.add(entry);
  entry.push(strToU8(words), true);
}

/** Two copies of a record share the start of their id and their time: the second gets a number. */
function unused(name: string, names: Set<string>): string {
  const dot = name.indexOf('.');
  let free = name;
  for (let number = 2; names.has(free); number++) free = `${name.slice(0, dot)}_${number}${name.slice(dot)}`;
  names.add(free);
  return free;
}

function joined(chunks: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(chunks.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const chunk of chunks) {
    bytes.set(chunk, at);
    at += chunk.length;
  }
  return bytes;
}
