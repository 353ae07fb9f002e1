import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

const HOME = join(import.meta.dirname, '../..');

/** Development dependencies of which parts are built into the app, and so are handed on with it. */
const BUILT_IN = ['svelte', 'esm-env', 'clsx', '@fontsource/barlow-condensed'];

/** Licences that an MIT project may ship with, given their notices are kept (SPDX identifiers). */
const COMPATIBLE = [
  'MIT',
  'ISC',
  'BSD-2-Clause',
  'BSD-3-Clause',
  '0BSD',
  'Apache-2.0',
  'OFL-1.1',
  'CC0-1.0',
  'Unlicense',
];

/** Licences that a package names in words; checked by reading the file that it points to. */
const READ: Record<string, string> = { 'flatbuffers@1.12.0': 'Apache-2.0' };

interface Locked {
  version?: string;
  license?: string;
  dev?: boolean;
  /** Optional, and wanted by a development dependency only. */
  devOptional?: boolean;
  /** Set on packages that are nothing but a library built for one kind of machine. */
  cpu?: string[];
}

export interface Shipped {
  name: string;
  version: string;
  licence: string;
  /** The licence and notice files of the package; empty where it ships none. */
  texts: string[];
}

function textsIn(folder: string): string[] {
  return readdirSync(folder)
    .filter((name) => /^(licen[cs]e|notice|copying)(\.(md|txt))?$/i.test(name))
    .sort()
    .map((name) => readFileSync(join(folder, name), 'utf8').trim());
}

/** Every package that the app or its command line hands on, by the lock file. Throws where a licence does not fit. */
export function shippedPackages(): Shipped[] {
  const lock = JSON.parse(readFileSync(join(HOME, 'package-lock.json'), 'utf8')) as {
    packages: Record<string, Locked>;
  };
  const shipped = Object.entries(lock.packages).flatMap(
    ([path, { version, license, dev, devOptional, cpu }]): Shipped[] => {
      const name = path.replace(/^.*node_modules\//, '');
      if (cpu !== undefined) return [];
      if (path === '' || version === undefined || ((dev || devOptional) && !BUILT_IN.includes(name)))
        return [];
      const folder = join(HOME, path);
      if (!existsSync(folder)) return [];
      return [
        {
          name,
          version,
          licence: READ[`${name}@${version}`] ?? license ?? 'none named',
          texts: textsIn(folder),
        },
      ];
    },
  );
  const unfit = shipped.filter(({ licence }) => !COMPATIBLE.includes(licence));
  if (unfit.length > 0) {
    const list = unfit.map(({ name, licence }) => `${name} (${licence})`).join(', ');
    throw new Error(`These licences are not known to fit: ${list}. NOTICE was not written; read them first.`);
  }
  return shipped.sort((a, b) => a.name.localeCompare(b.name, 'en'));
}

function models(): Shipped[] {
  return readdirSync(join(HOME, 'models'), { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(join(HOME, 'models', entry.name, 'LICENSE')))
    .map(({ name }) => ({
      name: `models/${name}`,
      version: '',
      licence: '',
      texts: textsIn(join(HOME, 'models', name)),
    }));
}

/** The text of NOTICE: what is shipped, under which licence, and every licence text once. */
export function noticeText(): string {
  const packages = shippedPackages();
  const lines = packages.map(
    ({ name, version, licence, texts }) =>
      `${name} ${version} – ${licence}${texts.length === 0 ? ' (the package has no licence file)' : ''}`,
  );
  const users = new Map<string, string[]>();
  for (const { name, texts } of [...packages, ...models()]) {
    for (const text of texts) users.set(text, [...(users.get(text) ?? []), name]);
  }
  const texts = [...users].map(([text, names]) => `${'-'.repeat(78)}\n${names.join(', ')}\n\n${text}\n`);
  return [
    'Utterlog is under the MIT licence (LICENSE). It contains or runs on the works of others:',
    '',
    ...lines,
    ...models().map(({ name }) => `${name} – licence and sources in ${name}/README.md and ${name}/LICENSE`),
    '',
    'npm also installs libraries built for the machine at hand (sharp and libvips, Apache-2.0 and LGPL-3.0-or-later).',
    'They are separate files that can be replaced, serve the command line only and are no part of the built app.',
    '',
    'Made by `npm run notice` from package-lock.json and models/.',
    '',
    ...texts,
  ].join('\n');
}

if (process.argv[1] === import.meta.filename) {
  try {
    writeFileSync(join(HOME, 'NOTICE'), noticeText());
    console.log(`NOTICE names ${shippedPackages().length} packages and ${models().length} models.`);
  } catch (error) {
    console.error((error as Error).message);
    process.exit(1);
  }
}
