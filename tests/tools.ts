import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/**
 * Programs and data from outside npm that some tests use. Each is looked for first and, on a Debian
 * machine where this process may install, installed by the system's package manager.
 */
const BROWSERS = [
  process.env.CHROMIUM_PATH,
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

/** Path of a program on PATH, or null. */
export function findProgram(name: string): string | null {
  for (const folder of (process.env.PATH ?? '').split(delimiter)) {
    if (folder && existsSync(join(folder, name))) return join(folder, name);
  }
  return null;
}

let listsFresh = false;

/** Tries to install Debian packages; returns whether the package manager said that it worked. */
function installDebian(packages: string[]): boolean {
  if (!findProgram('apt-get') || process.getuid?.() !== 0) return false;
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  if (!listsFresh) {
    spawnSync('apt-get', ['update', '-qq'], { env, stdio: 'ignore' });
    listsFresh = true;
  }
  return spawnSync('apt-get', ['install', '-y', '-qq', ...packages], { env, stdio: 'ignore' }).status === 0;
}

/** Path of a program, installing its Debian package where that is possible; null where it cannot be had. */
export function ensureProgram(name: string, debianPackage = name): string | null {
  return findProgram(name) ?? (installDebian([debianPackage]) ? findProgram(name) : null);
}

/** Firefox, to test the main path in a second browser; null where it cannot be had. */
export function ensureFirefox(): string | null {
  const named = process.env.FIREFOX_PATH;
  if (named && existsSync(named)) return named;
  return findProgram('firefox-esr') ?? findProgram('firefox') ?? ensureProgram('firefox-esr');
}

/** A folder of test data that a Debian package carries; null where it cannot be had. */
export function ensureData(folder: string, debianPackage: string): string | null {
  if (existsSync(folder)) return folder;
  return installDebian([debianPackage]) && existsSync(folder) ? folder : null;
}

function playwrightBrowser(install: boolean): string | null {
  const script = `
    const { chromium } = await import('playwright-core');
    process.stdout.write(chromium.executablePath());`;
  if (install) {
    const cli = join(import.meta.dirname, '../node_modules/playwright-core/cli.js');
    spawnSync(process.execPath, [cli, 'install', 'chromium'], { stdio: 'ignore', timeout: 300_000 });
  }
  const path = execFileSync(process.execPath, ['--input-type=module', '-e', script], {
    cwd: join(import.meta.dirname, '..'),
    encoding: 'utf8',
  });
  return existsSync(path) ? path : null;
}

/**
 * A Chromium to test with: one that is installed, else Playwright's, else the system's package.
 * @throws with what to do where none can be had.
 */
export function ensureBrowser(): string {
  const installed = BROWSERS.find((path) => path && existsSync(path));
  const path =
    installed ??
    playwrightBrowser(false) ??
    (installDebian(['chromium']) ? '/usr/bin/chromium' : null) ??
    playwrightBrowser(true);
  if (path && existsSync(path)) return path;
  throw new Error(
    'No Chromium was found and none could be installed. Install Chromium or Chrome, or set CHROMIUM_PATH to it, and run the tests again.',
  );
}
