import { closeSync, openSync, readdirSync, readFileSync, readSync, statSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { strFromU8, unzipSync } from 'fflate';

/** A file that may hold records, and the unit that its records come from. */
export interface SourceFile {
  path: string;
  unit: string;
  bytes: number;
}

const isZip = (path: string): boolean => /\.zip$/i.test(path);
const isJson = (path: string): boolean => /\.json$/i.test(path) && !/\.fhir\.json$/i.test(path);

/** A sentence for whoever gave a path that cannot be used. */
export class SourceError extends Error {}

/**
 * The JSON and ZIP files under a path, in the order of their names.
 * @throws SourceError where the path cannot be read.
 */
export function filesUnder(path: string, unit: string): SourceFile[] {
  let facts;
  try {
    facts = statSync(path);
  } catch {
    throw new SourceError(`${path} cannot be read. Nothing was written. Check the name and try again.`);
  }
  if (facts.isFile()) return [{ path, unit, bytes: facts.size }];
  return readdirSync(path, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && (isJson(entry.name) || isZip(entry.name)))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort()
    .map((file) => ({ path: file, unit, bytes: statSync(file).size }));
}

/** Name for messages: short, and never more than what the person typed. */
export const shortName = (base: string, path: string): string =>
  relative(base, path).startsWith('..') ? path : relative(base, path).split(sep).join('/');

/** Above this a ZIP is no export (app/imports.ts has the same limit for a tablet; a department has more). */
const MOST_UNPACKED_BYTES = 4 * 1024 * 1024 * 1024;

export interface Text {
  name: string;
  text: () => string;
}

/**
 * The records in a file: the file itself, or every JSON part of a ZIP. Parts are unpacked one pack at a time.
 * @throws where the file cannot be read.
 */
export function* textsIn(path: string): Generator<Text> {
  if (!isZip(path)) {
    yield { name: path, text: () => readFileSync(path, 'utf8') };
    return;
  }
  const zip = readFileSync(path);
  const packs: Set<string>[] = [];
  let [parts, bytes, all] = [0, 0, 0];
  unzipSync(zip, {
    filter: ({ name, originalSize }) => {
      if (!isJson(name)) return false;
      all += originalSize;
      if (all > MOST_UNPACKED_BYTES) throw new RangeError('larger than an export can be');
      if (packs.length === 0 || parts >= 200 || bytes > 32 * 1024 * 1024) {
        packs.push(new Set());
        [parts, bytes] = [0, 0];
      }
      packs.at(-1)!.add(name);
      parts += 1;
      bytes += originalSize;
      return false;
    },
  });
  for (const pack of packs) {
    const opened = unzipSync(zip, { filter: ({ name }) => pack.has(name) });
    for (const [name, content] of Object.entries(opened)) yield { name, text: () => strFromU8(content) };
  }
}

/** Whether a JSON file says in its head that it is of this format. */
export function headSays(path: string, format: string): boolean {
  if (!isJson(path)) return false;
  const head = Buffer.alloc(200);
  const file = openSync(path, 'r');
  try {
    return head.toString('utf8', 0, readSync(file, head, 0, head.length, 0)).includes(`"${format}"`);
  } finally {
    closeSync(file);
  }
}
