import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import advisories from './advisories.json';

// What a hospital's review of the dependencies stops at, held by the lock file: what is written there is installed.
const HOME = join(import.meta.dirname, '../..');
interface Locked {
  version?: string;
  link?: true;
  dev?: true;
  optional?: true;
  hasInstallScript?: true;
  deprecated?: string;
  resolved?: string;
  integrity?: string;
  inBundle?: true;
  engines?: { node?: string } | string[];
  cpu?: string[];
}
const { packages } = JSON.parse(readFileSync(join(HOME, 'package-lock.json'), 'utf8')) as {
  packages: Record<string, Locked>;
};
const locked = Object.entries(packages).filter(([path]) => path !== '');
const nameOf = (path: string) => path.replace(/^.*node_modules\//, '');

/** The oldest Node that README and package.json promise. */
const PROMISED: [number, number] = [20, 19];

/** Whether one of the ranges joined by `||` takes in a version; each is made of comparators and carets. */
function takes(range: string, [major, minor]: readonly [number, number]): boolean {
  return range.split('||').some((part) =>
    part
      .trim()
      .replace(/(>=|<=|>|<|\^|~)\s+/g, '$1')
      .split(/\s+/)
      .every((comparator) => {
        const match = /^(>=|<=|>|<|\^|~|=)?v?(\d+|\*)(?:\.(\d+|x))?/.exec(comparator);
        if (!match || match[2] === '*') return true;
        const [sign, from, point] = [match[1] ?? '=', Number(match[2]), Number(match[3] ?? 0) || 0];
        const above = major > from || (major === from && minor >= point);
        if (sign === '>=' || sign === '>') return above;
        if (sign === '<') return major < from || (major === from && minor < point);
        if (sign === '<=') return major < from || (major === from && minor <= point);
        return major === from && (sign === '=' && match[3] === undefined ? true : minor >= point);
      }),
  );
}

test.each<[string, boolean]>([
  ['>=20.19', true],
  ['>= 22.x', false],
  ['^20.19.0 || >=22.12.0', true],
  ['^18.17.0 || ^20.3.0 || >=21.0.0', true],
  ['>=20.20', false],
  ['*', true],
  ['>=6 <21', true],
])('the reading of engine ranges: %s', (range, taken) => {
  expect(takes(range, PROMISED)).toBe(taken);
});

test('no dependency asks for a newer Node than README and package.json promise', () => {
  const { engines } = JSON.parse(readFileSync(join(HOME, 'package.json'), 'utf8')) as {
    engines: { node: string };
  };
  expect(engines.node).toBe(`>=${PROMISED.join('.')}`);
  expect(readFileSync(join(HOME, 'README.md'), 'utf8')).toContain(`Node ${PROMISED.join('.')} or newer`);
  const newer = locked.filter(([, { engines: wanted }]) => {
    const node = Array.isArray(wanted) ? undefined : wanted?.node;
    return node !== undefined && !takes(node, PROMISED);
  });
  expect(newer.map(([path, { engines: wanted }]) => `${path} ${JSON.stringify(wanted)}`)).toEqual([]);
});

/** Native code that is installed, and what uses it. Anything else that comes in native fails here. */
const NATIVE: Record<string, string> = {
  esbuild: 'tsx, which every command runs on',
  '@esbuild': 'esbuild',
  '@rolldown': 'vite, the build',
  lightningcss: 'vite, the build',
  '@oxc-parser': 'knip, unused code',
  '@oxc-resolver': 'knip, unused code',
  'onnxruntime-node': 'npm run replay, evaluate and the speech tests',
  fsevents: 'vite on macOS; nothing elsewhere',
};
const allowed = (name: string) =>
  Object.keys(NATIVE).some(
    (known) => name === known || name.startsWith(`${known}/`) || name.startsWith(`${known}-`),
  );

test('npm ci installs nothing native but what a command, a test or the build uses', () => {
  const forOneMachine = locked.filter(([, { cpu }]) => cpu !== undefined).map(([path]) => nameOf(path));
  expect(forOneMachine.filter((name) => !allowed(name))).toEqual([]);
  // Installed here, by its files: what the lock file does not say.
  const native: string[] = [];
  for (const [path, { link }] of locked) {
    const folder = join(HOME, path);
    if (link || !existsSync(folder)) continue;
    const files = readdirSync(folder, { recursive: true, encoding: 'utf8' });
    if (files.some((file) => !file.includes('node_modules') && /\.(node|dylib|dll|so(\.\d+)*)$/.test(file)))
      native.push(nameOf(path));
  }
  expect(native.length).toBeGreaterThan(2);
  expect(native.filter((name) => !allowed(name))).toEqual([]);
}, 60_000);

test('scripts run at installation for known packages only', () => {
  const scripts = locked.filter(([, { hasInstallScript }]) => hasInstallScript).map(([path]) => nameOf(path));
  // protobufjs only prints a hint about versions; fsevents is for macOS.
  expect(scripts.filter((name) => !['esbuild', 'protobufjs', 'fsevents'].includes(name))).toEqual([]);
});

test('every package comes from one registry with its hash, and none is marked as given up', () => {
  const from = new Set<string>();
  for (const [path, { link, resolved, integrity, inBundle }] of locked) {
    // What a package brings inside its own archive is covered by that one's hash.
    if (link || inBundle || path === 'src/build/no-pictures') continue;
    expect(integrity, path).toMatch(/^sha512-/);
    // Without an address it is the registry that npm is set to; a folder, a repository or another scheme would be named.
    if (resolved !== undefined) from.add(new URL(resolved).origin);
  }
  expect([...from].filter((origin) => !origin.startsWith('https://'))).toEqual([]);
  expect(from.size).toBeLessThanOrEqual(1);
  expect(locked.filter(([, { deprecated }]) => deprecated).map(([path]) => path)).toEqual([]);
});

test('every package that is handed on was looked at for known problems, in this version', () => {
  const looked = advisories.looked as Record<string, string>;
  const handedOn = locked.filter(
    ([path, { dev, link, cpu }]) => !dev && !link && !cpu && path.startsWith('node_modules/'),
  );
  const missing = handedOn.filter(
    ([path, { version }]) => looked[path.replace(/^node_modules\//, '')] !== version,
  );
  expect(missing.map(([path, { version }]) => `${path} ${version}`)).toEqual([]);
  expect(Object.keys(looked)).toHaveLength(handedOn.length);
  expect(advisories.on).toMatch(/^\d{4}-\d{2}-\d{2}$/);
});
