import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { WORDS } from '../../vocabulary/words.ts';
import { compiled } from '../sentence/compile.ts';
import { normalise } from './normalise.ts';
import { startsNumber } from '../values/numbers.ts';
import { soundOf } from './sound.ts';

/** Edit costs and whole-word confusions, in the form of confusions.json. */
export interface Confusions {
  /** Number of pairs that were tabulated. */
  pairs: number;
  /** "meant>heard" in signs of soundOf → cost from 0.1 to 1. */
  substitutions: Record<string, number>;
  insertions: Record<string, number>;
  deletions: Record<string, number>;
  /** Words that were written for a trade word at least twice. */
  words: { heard: string; meant: string; times: number }[];
}

type Step<T> = { meant: T } | { heard: T } | { meant: T; heard: T };

/** Cheapest alignment of two sequences, plain edit distance. */
export function align<T>(meant: readonly T[], heard: readonly T[]): Step<T>[] {
  const cost = Array.from({ length: meant.length + 1 }, (_, row) =>
    Array.from({ length: heard.length + 1 }, (_, column) => (row === 0 ? column : column === 0 ? row : 0)),
  );
  for (let row = 1; row <= meant.length; row += 1) {
    for (let column = 1; column <= heard.length; column += 1) {
      const swap = cost[row - 1]![column - 1]! + (meant[row - 1] === heard[column - 1] ? 0 : 1);
      cost[row]![column] = Math.min(swap, cost[row - 1]![column]! + 1, cost[row]![column - 1]! + 1);
    }
  }
  const steps: Step<T>[] = [];
  let [row, column] = [meant.length, heard.length];
  while (row > 0 || column > 0) {
    const swap =
      row > 0 && column > 0
        ? cost[row - 1]![column - 1]! + (meant[row - 1] === heard[column - 1] ? 0 : 1)
        : Infinity;
    if (swap === cost[row]![column])
      steps.unshift({ meant: meant[(row -= 1)]!, heard: heard[(column -= 1)]! });
    else if (row > 0 && cost[row - 1]![column]! + 1 === cost[row]![column])
      steps.unshift({ meant: meant[(row -= 1)]! });
    else steps.unshift({ heard: heard[(column -= 1)]! });
  }
  return steps;
}

/** What is seen in one of two cases costs little; what is seen in one of three hundred costs 1. */
const costOf = (times: number, of: number): number => {
  const share = (times + 0.5) / (of + 20);
  return Math.round(Math.min(1, Math.max(0.1, -Math.log(share) / Math.log(300))) * 100) / 100;
};

const count = (map: Map<string, number>, key: string): void => void map.set(key, (map.get(key) ?? 0) + 1);
const FEWEST = 2;

/** Tabulates what the recogniser wrote for what was said. Sides, numbers, negations and opposites are never learnt. */
export function learnConfusions(
  pairs: readonly (readonly [string, string])[],
  vocabulary: Vocabulary,
): Confusions {
  const { known } = compiled(vocabulary);
  const opposites = new Set(vocabulary.lookAlikes.opposites.flat());
  const fixed = (word: string): boolean =>
    opposites.has(word) || startsNumber(word) || WORDS.negation.has(word) || WORDS.light.has(word);
  const [swaps, added, lost, said, whole] = [
    new Map<string, number>(),
    new Map<string, number>(),
    new Map<string, number>(),
    new Map<string, number>(),
    new Map<string, number>(),
  ];
  let signs = 0;
  const words = (text: string): string[] => normalise(text, WORDS).map((token) => token.word);
  for (const [reference, recognised] of pairs) {
    for (const step of align(words(reference), words(recognised))) {
      if (!('meant' in step) || !('heard' in step)) continue;
      const { meant, heard } = step;
      // "posteria" may be learnt for "posterior", but never one opposite for the other.
      if (fixed(heard) || (fixed(meant) && !WORDS.trade.has(meant))) continue;
      for (const sound of align([...soundOf(meant)], [...soundOf(heard)])) {
        signs += 1;
        if ('meant' in sound) count(said, sound.meant);
        if ('meant' in sound && 'heard' in sound) {
          if (sound.meant !== sound.heard) count(swaps, `${sound.meant}>${sound.heard}`);
        } else if ('meant' in sound) count(lost, sound.meant);
        else count(added, sound.heard);
      }
      if (meant !== heard && WORDS.trade.has(meant) && !known.has(heard)) count(whole, `${heard}\t${meant}`);
    }
  }
  const seen = (map: Map<string, number>, of: (key: string) => number): Record<string, number> =>
    Object.fromEntries(
      [...map]
        .filter(([, times]) => times >= FEWEST)
        .map(([key, times]) => [key, costOf(times, of(key))])
        .sort(),
    );
  return {
    pairs: pairs.length,
    substitutions: seen(swaps, (key) => said.get(key[0]!) ?? 0),
    insertions: seen(added, () => signs / 20),
    deletions: seen(lost, (key) => said.get(key) ?? 0),
    words: [...whole]
      .filter(([, times]) => times >= FEWEST)
      .map(([key, times]) => ({ heard: key.split('\t')[0]!, meant: key.split('\t')[1]!, times }))
      .sort((a, b) => b.times - a.times || a.heard.localeCompare(b.heard)),
  };
}

/** A learnt cost above this says no more than the cost of any two signs. */
const TELLING = 0.85;

/**
 * The seed with every exchange of signs as cheap as the recogniser makes it, where that is cheaper. Signs put in or
 * left out and whole words stay as set by hand: learnt, they took "cannula in" for a call-out and "I do" for "undo".
 */
export function mixed<Seed extends { substitutions: Record<string, number> }>(
  seed: Seed,
  learnt: Confusions,
): Seed {
  const cheaper = Object.entries(learnt.substitutions).filter(
    ([key, cost]) => cost <= TELLING && cost < (seed.substitutions[key] ?? 1),
  );
  return { ...seed, substitutions: { ...seed.substitutions, ...Object.fromEntries(cheaper) } };
}
