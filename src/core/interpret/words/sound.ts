import data from './confusions.json';

interface Costs {
  substitutions: Record<string, number>;
  insertions: Record<string, number>;
  deletions: Record<string, number>;
}

/** Written letters → a rough sound: one sign per sound, silent and doubled letters dropped, a final r not heard. */
export function soundOf(word: string): string {
  return word
    .replace(/[^a-z]/g, '')
    .replace(/^(kn|gn|pn)/, 'n')
    .replace(/^wr/, 'r')
    .replace(/^mac|^mc|^mick|^mik|^mack/, 'mik')
    .replace(/ph/g, 'f')
    .replace(/tch|ch(?=[aeiou])/g, 'C')
    .replace(/sch|sh|ti(?=on|an)|ci(?=a)|ssi(?=on)|ssu/g, 'S')
    .replace(/th/g, 'T')
    .replace(/ck|q|cc/g, 'k')
    .replace(/x/g, 'ks')
    .replace(/c(?=[eiy])/g, 's')
    .replace(/c/g, 'k')
    .replace(/g(?=[eiy])/g, 'j')
    .replace(/dge/g, 'j')
    .replace(/ae|oe|ea|ee|ie|ei/g, 'e')
    .replace(/ou|oo|ow|au|aw/g, 'o')
    .replace(/([a-zA-Z])\1+/g, '$1')
    .replace(/(?<=.)y/g, 'i')
    .replace(/(?<=[aeiou])(?:r|h)$/, '')
    .replace(/e$/, '');
}

const costs: Costs = data;

const DEFAULT_COST = 1;
/** Signs are ASCII: tables by character code are several times as fast as keys of text. */
const SIGNS = 128;

const oneSign = (table: Record<string, number>): Float64Array =>
  Float64Array.from({ length: SIGNS }, (_, code) => table[String.fromCharCode(code)] ?? DEFAULT_COST);

const INSERTION = oneSign(costs.insertions);
const DELETION = oneSign(costs.deletions);
/** At `meant * SIGNS + heard`. */
const SUBSTITUTION = Float64Array.from({ length: SIGNS * SIGNS }, (_, place) => {
  const [meant, heard] = [Math.floor(place / SIGNS), place % SIGNS];
  if (meant === heard) return 0;
  const key = `${String.fromCharCode(meant)}>${String.fromCharCode(heard)}`;
  return costs.substitutions[key] ?? DEFAULT_COST;
});

let previous = new Float64Array(64);
let row = new Float64Array(64);

/**
 * Weighted edit distance of two sounds, divided by the longer length: 0 the same, 1 nothing in common.
 * The costs are what this recogniser confuses (confusions.json). `limit` stops early.
 */
export function soundCost(heard: string, meant: string, limit = 1): number {
  const longest = Math.max(heard.length, meant.length);
  if (longest === 0) return 0;
  if (Math.abs(heard.length - meant.length) * 0.3 > limit * longest) return 1;
  if (meant.length >= row.length) {
    previous = new Float64Array(2 * meant.length);
    row = new Float64Array(2 * meant.length);
  }
  previous[0] = 0;
  for (let to = 1; to <= meant.length; to += 1)
    previous[to] = previous[to - 1]! + DELETION[meant.charCodeAt(to - 1)]!;
  for (let from = 1; from <= heard.length; from += 1) {
    const letter = heard.charCodeAt(from - 1);
    const insertion = INSERTION[letter]!;
    row[0] = previous[0]! + insertion;
    let least = row[0]!;
    for (let to = 1; to <= meant.length; to += 1) {
      const target = meant.charCodeAt(to - 1);
      const swapped = previous[to - 1]! + SUBSTITUTION[target * SIGNS + letter]!;
      const inserted = previous[to]! + insertion;
      const deleted = row[to - 1]! + DELETION[target]!;
      const best = swapped < inserted ? swapped : inserted;
      row[to] = best < deleted ? best : deleted;
      if (row[to]! < least) least = row[to]!;
    }
    if (least > limit * longest) return 1;
    [previous, row] = [row, previous];
  }
  return previous[meant.length]! / longest;
}
