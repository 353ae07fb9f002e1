import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';

/** manifest.json: every file that the app needs to hear, with its size and SHA-256. Paths are below models/. */
export interface Manifest {
  format: 'utterlog-models';
  files: { path: string; bytes: number; sha256: string }[];
}

/** What a reader found at a path. `onBytes` is told of the bytes as they come. */
export type Found = { kind: 'found'; bytes: Uint8Array } | { kind: 'missing' } | { kind: 'unreachable' };
export type FileReader = (path: string, onBytes?: (count: number) => void) => Promise<Found>;

export interface ModelProblem {
  kind: 'missing' | 'cut' | 'altered' | 'unreachable';
  path: string;
  /** What happened, what still works, what to do. */
  sentence: string;
}

/** The files of the manifest, each with the size and hash that it names; nothing else is ever used. */
export class CheckedFiles {
  readonly #files: ReadonlyMap<string, Uint8Array>;
  constructor(files: ReadonlyMap<string, Uint8Array>) {
    this.#files = files;
  }
  get(path: string): Uint8Array {
    const bytes = this.#files.get(path);
    if (!bytes) throw new Error(`The manifest of the speech model does not list ${path}.`);
    return bytes;
  }
}

export interface LoadProgress {
  loadedBytes: number;
  totalBytes: number;
}

const MANIFEST = 'manifest.json';
const AFTER = 'Entries can be made by touch; the record is not affected.';
const SENTENCES: Record<ModelProblem['kind'], (path: string) => string> = {
  missing: (path) =>
    `The speech model cannot start: its file ${path} is missing. ${AFTER} Install the app again, then reload.`,
  cut: (path) =>
    `The speech model cannot start: its file ${path} is not complete. ${AFTER} Reload to fetch it again.`,
  altered: (path) =>
    `The speech model cannot start: its file ${path} is not the one that was released. ${AFTER} Install the app again, then reload.`,
  unreachable: (path) =>
    `The speech model cannot start: its file ${path} could not be fetched. ${AFTER} Connect once, then reload.`,
};

function problem(kind: ModelProblem['kind'], path: string): ModelProblem {
  return { kind, path, sentence: SENTENCES[kind](`models/${path}`) };
}

async function hashOf(bytes: Uint8Array): Promise<string> {
  // The browser's own hash is faster but exists on secure pages only.
  if (!globalThis.crypto?.subtle) return bytesToHex(sha256(bytes));
  return bytesToHex(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes as Uint8Array<ArrayBuffer>)));
}

function parseManifest(bytes: Uint8Array): Manifest | null {
  try {
    const manifest = JSON.parse(new TextDecoder().decode(bytes)) as Manifest;
    return manifest.format === 'utterlog-models' && Array.isArray(manifest.files) ? manifest : null;
  } catch {
    return null;
  }
}

/** One file with the size and hash of the manifest. `onBytes`: of its bytes, as they come, each once. */
async function checkedFile(
  read: FileReader,
  file: Manifest['files'][number],
  onBytes: (count: number) => void,
): Promise<{ kind: 'ok'; path: string; bytes: Uint8Array } | ModelProblem> {
  const { path } = file;
  let told = 0;
  const tell = (count: number): void => {
    const more = Math.min(count, file.bytes - told);
    told += more;
    onBytes(more);
  };
  const found = await read(path, tell);
  if (found.kind !== 'found') return problem(found.kind, path);
  const { bytes } = found;
  if (bytes.length < file.bytes) return problem('cut', path);
  if (bytes.length > file.bytes || (await hashOf(bytes)) !== file.sha256) return problem('altered', path);
  tell(file.bytes);
  return { kind: 'ok', path, bytes };
}

/**
 * Reads and checks every file of the manifest. Never throws for a bad file: the result names the first one
 * and says in a sentence what is wrong with it.
 */
export async function loadModelFiles(
  read: FileReader,
  onProgress: (progress: LoadProgress) => void = () => {},
): Promise<{ kind: 'ok'; files: CheckedFiles } | ModelProblem> {
  const list = await read(MANIFEST);
  if (list.kind !== 'found') return problem(list.kind, MANIFEST);
  const manifest = parseManifest(list.bytes);
  if (!manifest) return problem('altered', MANIFEST);

  const totalBytes = manifest.files.reduce((sum, file) => sum + file.bytes, 0);
  let loadedBytes = 0;
  const tell = (count: number): void => {
    loadedBytes += count;
    onProgress({ loadedBytes, totalBytes });
  };
  // All at once: while one is checked the next is read.
  const checked = await Promise.all(manifest.files.map((file) => checkedFile(read, file, tell)));
  const files = new Map<string, Uint8Array>();
  for (const file of checked) {
    if (file.kind !== 'ok') return file;
    files.set(file.path, file.bytes);
  }
  return { kind: 'ok', files: new CheckedFiles(files) };
}

/** Reads over HTTP from `base` (absolute, ends with a slash). A server's own page in place of a file is "missing". */
export function httpReader(base: string): FileReader {
  return async (path, onBytes) => {
    try {
      const response = await fetch(new URL(path, base));
      const isPage = response.headers.get('content-type')?.includes('text/html');
      if (response.status === 404 || isPage) return { kind: 'missing' };
      if (!response.ok || !response.body) return { kind: 'unreachable' };
      const parts: Uint8Array[] = [];
      let length = 0;
      const stream = response.body.getReader();
      try {
        for (let part = await stream.read(); !part.done; part = await stream.read()) {
          parts.push(part.value);
          length += part.value.length;
          onBytes?.(part.value.length);
        }
      } catch {
        // The connection broke in the middle: the part that came is checked and found too short.
      }
      const bytes = new Uint8Array(length);
      let at = 0;
      for (const part of parts) {
        bytes.set(part, at);
        at += part.length;
      }
      return { kind: 'found', bytes };
    } catch {
      return { kind: 'unreachable' };
    }
  };
}
