import { strFromU8, unzipSync } from 'fflate';
import { importRecord } from '../core/record/import.ts';
import { createRecord } from '../store/records.ts';

export type ImportProblem =
  /** Not a record of this app, or damaged: why, and where in the file. */
  | { kind: 'refused'; name: string; sentence: string }
  /** A record with this id is on the device; nothing was changed. */
  | { kind: 'exists'; name: string }
  | { kind: 'unreadable'; name: string }
  | { kind: 'empty'; name: string };

export interface ImportResult {
  imported: number;
  problems: ImportProblem[];
  cancelled: boolean;
}

interface Source {
  name: string;
  text: string;
}

/** Far above any export (5,000 records of 200 entries), and small enough for the memory of a tablet. */
const MOST_UNPACKED_BYTES = 512 * 1024 * 1024;
const MOST_PARTS = 20_000;

/** Counts what a ZIP says that it unpacks to, before anything is unpacked; the unpacker holds it to that. */
function limiter(): (originalSize: number) => void {
  let bytes = 0;
  let parts = 0;
  return (originalSize) => {
    bytes += originalSize;
    parts += 1;
    if (bytes > MOST_UNPACKED_BYTES || parts > MOST_PARTS)
      throw new RangeError('larger than an export can be');
  };
}

/** The record files in what a person chose: JSON as it is, and every JSON record in a ZIP. */
async function sourcesOf(file: File): Promise<Source[] | ImportProblem> {
  const { name } = file;
  try {
    if (file.size > MOST_UNPACKED_BYTES) return { kind: 'unreadable', name };
    if (!/\.zip$/i.test(name)) return [{ name, text: await file.text() }];
    const isRecord = (path: string) => /\.json$/i.test(path) && !/\.fhir\.json$/i.test(path);
    const count = limiter();
    const inside = unzipSync(new Uint8Array(await file.arrayBuffer()), {
      filter: (part) => {
        if (!isRecord(part.name)) return false;
        count(part.originalSize);
        return true;
      },
    });
    const sources = Object.entries(inside).map(([path, bytes]) => ({
      name: `${name}: ${path}`,
      text: strFromU8(bytes),
    }));
    return sources.length > 0 ? sources : { kind: 'empty', name };
  } catch {
    return { kind: 'unreadable', name };
  }
}

/**
 * Imports chosen files, one record after the other; what cannot be taken is named and the rest goes on.
 * @param onProgress files of the choice, or records once they are known.
 */
export async function importFiles(
  files: readonly File[],
  options: { onProgress: (progress: { done: number; all: number }) => void; signal: AbortSignal },
): Promise<ImportResult> {
  const result: ImportResult = { imported: 0, problems: [], cancelled: false };
  const sources: Source[] = [];
  for (const file of files) {
    const found = await sourcesOf(file);
    if (Array.isArray(found)) sources.push(...found);
    else result.problems.push(found);
  }
  for (const [at, { name, text }] of sources.entries()) {
    if (options.signal.aborted) return { ...result, cancelled: true };
    const read = importRecord(text);
    if (read.kind === 'refused') {
      result.problems.push({ kind: 'refused', name, sentence: read.sentence });
    } else {
      const kept = await createRecord(read.file);
      if (kept.kind === 'exists') result.problems.push({ kind: 'exists', name });
      else result.imported += 1;
    }
    options.onProgress({ done: at + 1, all: sources.length });
  }
  return result;
}
