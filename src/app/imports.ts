import { strFromU8, unzipSync } from 'fflate';
import { importSteps } from '../core/record/import.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { createRecord } from '../store/records.ts';
import { inTurns, turnTaker } from './turns.ts';

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

/** `part`: how much of the record at hand is checked, 0 to 1. */
export interface ImportProgress {
  done: number;
  all: number;
  part: number;
}

interface Source {
  name: string;
  text: () => Promise<string>;
}

/** Far above any export (5,000 records of 200 entries), and small enough for the memory of a tablet. */
const MOST_UNPACKED_BYTES = 512 * 1024 * 1024;
const MOST_PARTS = 20_000;
/** Parts that are unpacked together: enough that the table of contents is not read for each. */
const PACK_PARTS = 200;
const PACK_BYTES = 8 * 1024 * 1024;

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

/** The JSON records in a ZIP by name, unpacked some at a time when they are asked for. */
function partsOf(zip: Uint8Array): { path: string; text: () => string }[] {
  const isRecord = (path: string) => /\.json$/i.test(path) && !/\.fhir\.json$/i.test(path);
  const count = limiter();
  const packs: Set<string>[] = [];
  let left = { parts: 0, bytes: 0 };
  const packOf = new Map<string, number>();
  unzipSync(zip, {
    filter: ({ name, originalSize }) => {
      if (!isRecord(name)) return false;
      count(originalSize);
      if (left.parts < 1 || left.bytes < originalSize) {
        packs.push(new Set());
        left = { parts: PACK_PARTS, bytes: PACK_BYTES };
      }
      packs.at(-1)!.add(name);
      packOf.set(name, packs.length - 1);
      left = { parts: left.parts - 1, bytes: left.bytes - originalSize };
      return false;
    },
  });
  const only = (names: ReadonlySet<string>) => unzipSync(zip, { filter: ({ name }) => names.has(name) });
  let open: { pack: number; parts: Record<string, Uint8Array> | null } | null = null;
  const unpack = (path: string): string => {
    const pack = packOf.get(path)!;
    if (open?.pack !== pack) {
      open = { pack, parts: null };
      try {
        open.parts = only(packs[pack]!);
      } catch {
        // One damaged part must not keep the others out: they are unpacked one by one.
      }
    }
    return strFromU8((open.parts ?? only(new Set([path])))[path]!);
  };
  return [...packOf.keys()].map((path) => ({ path, text: () => unpack(path) }));
}

/** The record files in what a person chose: JSON as it is, and every JSON record in a ZIP. */
async function sourcesOf(file: File): Promise<Source[] | ImportProblem> {
  const { name } = file;
  try {
    if (file.size > MOST_UNPACKED_BYTES) return { kind: 'unreadable', name };
    if (!/\.zip$/i.test(name)) return [{ name, text: () => file.text() }];
    const parts = partsOf(new Uint8Array(await file.arrayBuffer()));
    if (parts.length === 0) return { kind: 'empty', name };
    return parts.map(({ path, text }) => ({ name: `${name}: ${path}`, text: async () => text() }));
  } catch {
    return { kind: 'unreadable', name };
  }
}

/**
 * Imports chosen files, one record after the other; what cannot be taken is named and the rest goes on. Where
 * it is cancelled, the records before are kept and the one at hand is not.
 * @param onProgress files of the choice, or records once they are known.
 */
export async function importFiles(
  files: readonly File[],
  options: {
    onProgress: (progress: ImportProgress) => void;
    signal: AbortSignal;
    /** The words of this device, with the unit's own: what a record may hold. */
    vocabulary: Vocabulary;
  },
): Promise<ImportResult> {
  const result: ImportResult = { imported: 0, problems: [], cancelled: false };
  const sources: Source[] = [];
  for (const file of files) {
    const found = await sourcesOf(file);
    if (Array.isArray(found)) sources.push(...found);
    else result.problems.push(found);
  }
  const turn = turnTaker();
  const all = sources.length;
  for (const [done, { name, text }] of sources.entries()) {
    const words = await text().catch(() => null);
    if (words === null) {
      result.problems.push({ kind: 'unreadable', name });
      continue;
    }
    const read = await inTurns(importSteps(words, options.vocabulary), {
      onProgress: (part) => options.onProgress({ done, all, part }),
      signal: options.signal,
      turn,
    });
    if (read.kind === 'cancelled') return { ...result, cancelled: true };
    if (read.result.kind === 'refused') {
      result.problems.push({ kind: 'refused', name, sentence: read.result.sentence });
    } else {
      const kept = await createRecord(read.result.file);
      if (kept.kind === 'exists') result.problems.push({ kind: 'exists', name });
      else result.imported += 1;
    }
    options.onProgress({ done: done + 1, all, part: 0 });
    await turn();
  }
  return result;
}
