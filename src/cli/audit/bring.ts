import { spawn } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync, readFileSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';

/** A library that the app does not install: fetched by a lock file (version and hashes pinned) when it is first used. */
export interface Engine {
  name: string;
  /** Folder with package.json and package-lock.json. */
  lock: string;
  package: string;
  /** In words, for the sentence that announces it. */
  size: string;
}

/** Ignored by version control; may be removed at any time. */
const CACHE = join(import.meta.dirname, '../../../.cache/audit');

function versionOf({ lock, package: name }: Engine): string {
  const file = JSON.parse(readFileSync(join(lock, 'package.json'), 'utf8')) as {
    dependencies: Record<string, string>;
  };
  return file.dependencies[name]!;
}

/** Where it lies once it was fetched. */
export const folderOf = (engine: Engine): string =>
  join(CACHE, `${engine.name.toLowerCase()}-${versionOf(engine)}`);

/**
 * Fetches a library into the cache folder, once.
 * @throws an Error in npm's own last words where it cannot be had.
 */
export async function bring(engine: Engine, say: (sentence: string) => void): Promise<void> {
  const folder = folderOf(engine);
  if (existsSync(join(folder, 'node_modules', engine.package))) return;
  say(
    `${engine.name} ${versionOf(engine)} is fetched once from the npm registry into .cache/audit (${engine.size}) …`,
  );
  const coming = `${folder}.coming-${process.pid}`;
  mkdirSync(coming, { recursive: true });
  try {
    for (const name of ['package.json', 'package-lock.json'])
      copyFileSync(join(engine.lock, name), join(coming, name));
    await npmCi(coming);
    if (!existsSync(folder)) renameSync(coming, folder);
    say(`${engine.name} is here.`);
  } finally {
    rmSync(coming, { recursive: true, force: true });
  }
}

function npmCi(folder: string): Promise<void> {
  return new Promise((resolve, reject) => {
    const npm = spawn('npm', ['ci', '--ignore-scripts', '--no-audit', '--no-fund'], {
      cwd: folder,
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    let words = '';
    npm.stderr.on('data', (chunk: Buffer) => (words = (words + chunk.toString()).slice(-2000)));
    npm.on('error', reject);
    npm.on('close', (code) =>
      code === 0 ? resolve() : reject(new Error(words.trim().split('\n')[0] ?? `npm ended with ${code}`)),
    );
  });
}
