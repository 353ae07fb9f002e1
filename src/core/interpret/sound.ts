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

/**
 * Weighted edit distance of two sounds, divided by the longer length: 0 the same, 1 nothing in common.
 * The costs are what this recogniser confuses (confusions.json). `limit` stops early.
 */
export function soundCost(heard: string, meant: string, limit = 1): number {
  const longest = Math.max(heard.length, meant.length);
  if (longest === 0) return 0;
  if (Math.abs(heard.length - meant.length) * 0.3 > limit * longest) return 1;
  let previous = Float64Array.from({ length: meant.length + 1 }, () => 0);
  for (let to = 1; to <= meant.length; to += 1)
    previous[to] = previous[to - 1]! + (costs.deletions[meant[to - 1]!] ?? DEFAULT_COST);
  for (let from = 1; from <= heard.length; from += 1) {
    const row = new Float64Array(meant.length + 1);
    const letter = heard[from - 1]!;
    row[0] = previous[0]! + (costs.insertions[letter] ?? DEFAULT_COST);
    let least = row[0]!;
    for (let to = 1; to <= meant.length; to += 1) {
      const target = meant[to - 1]!;
      const swap = letter === target ? 0 : (costs.substitutions[`${target}>${letter}`] ?? DEFAULT_COST);
      row[to] = Math.min(
        previous[to - 1]! + swap,
        previous[to]! + (costs.insertions[letter] ?? DEFAULT_COST),
        row[to - 1]! + (costs.deletions[target] ?? DEFAULT_COST),
      );
      least = Math.min(least, row[to]!);
    }
    if (least > limit * longest) return 1;
    previous = row;
  }
  return previous[meant.length]! / longest;
}
