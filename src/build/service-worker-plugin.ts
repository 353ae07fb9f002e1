import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative, resolve, sep } from 'node:path';
import { build, type Plugin } from 'vite';

const SOURCE = join(import.meta.dirname, '../service-worker.ts');
/** Larger files, and all of models/ and practice/, are kept on first use instead of at the first visit. */
const LARGE_BYTES = 1_000_000;
const ON_FIRST_USE = /^(models|practice)\//;

interface ReleasedFile {
  path: string;
  bytes: number;
  sha256: string;
  large: boolean;
}

function filesIn(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    return entry.isDirectory() ? filesIn(path) : [path];
  });
}

const sha256 = (bytes: Uint8Array | string) => createHash('sha256').update(bytes).digest('hex');

/**
 * Every file of a built app with its size and hash. Model files take the hash that models/manifest.json names,
 * so that a wrong file on the server is never kept as the right one.
 */
export function listRelease(dist: string): { version: string; files: ReleasedFile[] } {
  const manifest = JSON.parse(readFileSync(join(dist, 'models/manifest.json'), 'utf8')) as {
    files: { path: string; bytes: number; sha256: string }[];
  };
  const named = new Map(manifest.files.map((file) => [`models/${file.path}`, file.sha256]));
  const files = filesIn(dist)
    .map((file) => relative(dist, file).split(sep).join('/'))
    .filter((path) => path !== 'service-worker.js' && !path.endsWith('.map'))
    .sort()
    .map((path) => {
      const bytes = statSync(join(dist, path)).size;
      const hash = named.get(path) ?? sha256(readFileSync(join(dist, path)));
      return { path, bytes, sha256: hash, large: ON_FIRST_USE.test(path) || bytes > LARGE_BYTES };
    });
  const version = sha256(JSON.stringify(files)).slice(0, 16);
  return { version, files };
}

/** Writes service-worker.js for the files that lie in `dist`, and names them all in it. */
export async function buildServiceWorker(dist: string): Promise<void> {
  await build({
    configFile: false,
    publicDir: false,
    logLevel: 'warn',
    define: { BUILT_RELEASE: JSON.stringify(listRelease(dist)) },
    build: {
      outDir: dist,
      emptyOutDir: false,
      target: 'es2022',
      rollupOptions: { input: SOURCE, output: { format: 'iife', entryFileNames: 'service-worker.js' } },
    },
  });
}

/** Builds the service worker last, when every file of the app lies in the output folder. */
export function serviceWorker(): Plugin {
  let dist = '';
  return {
    name: 'utterlog-service-worker',
    apply: 'build',
    configResolved(config) {
      dist = resolve(config.root, config.build.outDir);
    },
    closeBundle: { order: 'post', sequential: true, handler: () => buildServiceWorker(dist) },
  };
}
