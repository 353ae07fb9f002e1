import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { learnConfusions, mixed } from '../core/interpret/words/learn-confusions.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';

/**
 * Remakes src/core/interpret/words/confusions.json from what was set by hand (models/training/data/confusion-seed.json)
 * and from what the recogniser wrote. Input: lines "reference<TAB>recognised".
 */
const USAGE = 'Usage: tsx src/lab/learn-confusions.ts PAIRS.tsv [--out FILE]';
const FILE = new URL('../core/interpret/words/confusions.json', import.meta.url);
const SEED = new URL('../../models/training/data/confusion-seed.json', import.meta.url);
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { out: { type: 'string' } },
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
const { about: _about, ...seed } = JSON.parse(readFileSync(SEED, 'utf8'));
const learnt = learnConfusions(pairs, loadVocabulary());
const made = {
  source: 'made by src/lab/learn-confusions.ts from models/training/data/confusion-seed.json and heard.tsv',
  pairs: pairs.length,
  ...mixed(seed, learnt),
};
writeFileSync(values.out ?? FILE, `${JSON.stringify(made, null, 2)}\n`);
console.log(
  `${pairs.length} pairs: ${Object.keys(learnt.substitutions).length} exchanges of signs tabulated.`,
);
