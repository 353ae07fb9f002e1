import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { learnConfusions } from '../core/interpret/learn-confusions.ts';
import { loadVocabulary } from '../core/vocabulary/load.ts';

/**
 * Remakes src/core/interpret/confusions.json from what the recogniser wrote.
 * Input: lines "reference<TAB>recognised". The hand-made patch and the everyday words of the old file are kept.
 */
const USAGE = 'Usage: tsx src/cli/learn-confusions.ts PAIRS.tsv [--out FILE] [--source TEXT]';
const FILE = new URL('../core/interpret/confusions.json', import.meta.url);
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { out: { type: 'string' }, source: { type: 'string' } },
});
const [path] = positionals;
if (!path) {
  console.error(`No file of pairs was named, so nothing was changed. ${USAGE}`);
  process.exit(2);
}
const pairs = readFileSync(path, 'utf8')
  .split(/\r?\n/)
  .filter((line) => line.includes('\t'))
  .map((line) => line.split('\t') as [string, string]);
if (pairs.length === 0) {
  console.error(`${path} holds no line "reference<TAB>recognised", so nothing was changed. ${USAGE}`);
  process.exit(2);
}
const before = JSON.parse(readFileSync(FILE, 'utf8'));
const source =
  values.source ?? `tabulated from ${pairs.length} recognised call-outs by src/cli/learn-confusions.ts`;
const made = {
  source,
  ...learnConfusions(pairs, loadVocabulary()),
  patch: before.patch,
  everyday: before.everyday,
};
writeFileSync(values.out ?? FILE, `${JSON.stringify(made, null, 2)}\n`);
console.log(
  `${pairs.length} pairs: ${Object.keys(made.substitutions).length} substitutions and ${made.words.length} whole words tabulated.`,
);
