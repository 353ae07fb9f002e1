import Fuse from 'fuse.js';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { WORDS } from '../vocabulary/words.ts';
import type { Compiled } from './compile.ts';
import data from './confusions.json';
import type { Token } from './normalise.ts';
import { startsNumber } from './numbers.ts';
import { soundCost, soundOf } from './sound.ts';
import thresholds from './thresholds.json';

/** A stretch of words taken as a misheard word of the trade. */
export interface Repair {
  from: number;
  to: number;
  meant: string[];
  /** 0 to 1: how far the sound is from the word. */
  cost: number;
  /** Too near to an opposite or an everyday word to be taken without a question. */
  doubtful: boolean;
}

interface Term {
  words: string[];
  sound: string;
}

/** Words that stand for nothing but themselves: sides, numbers, opposites, short words. */
function isFixed(word: string, opposites: ReadonlySet<string>): boolean {
  return opposites.has(word) || startsNumber(word) || WORDS.negation.has(word) || WORDS.light.has(word);
}

class Repairer {
  private readonly terms: Term[];
  private readonly fuse: Fuse<Term>;
  private readonly bigrams = new Map<string, Set<number>>();
  private readonly opposites: ReadonlySet<string>;
  private readonly oppositeOf = new Map<string, string>();
  private readonly patch: ReadonlyMap<string, { meant: string[]; ask: boolean }>;
  private readonly everyday: ReadonlySet<string>;

  constructor(
    vocabulary: Vocabulary,
    private readonly compiled: Compiled,
  ) {
    for (const [one, other] of vocabulary.lookAlikes.opposites)
      this.oppositeOf.set(one, other).set(other, one);
    this.opposites = new Set(this.oppositeOf.keys());
    const single = new Set(
      [...compiled.known, ...WORDS.trade].filter(
        (word) => word.length >= thresholds.repairShortestWord && /^[a-z]+$/.test(word),
      ),
    );
    this.terms = [...single]
      .filter((word) => WORDS.trade.has(word) || word.length >= 7)
      .map((word) => ({ words: [word], sound: soundOf(word) }));
    this.terms.push({ words: ['woods', 'screw'], sound: soundOf('woodsscrew') });
    // Fuse only proposes; the confusion costs decide.
    this.fuse = new Fuse(this.terms, {
      keys: ['sound'],
      threshold: 0.5,
      ignoreLocation: true,
      includeScore: true,
    });
    this.terms.forEach(({ sound }, index) => {
      for (const pair of pairsOf(sound))
        this.bigrams.set(pair, (this.bigrams.get(pair) ?? new Set()).add(index));
    });
    const whole: { heard: string; meant: string; ask?: boolean }[] = [...data.patch.words, ...data.words];
    this.patch = new Map(
      whole.map(({ heard, meant, ask = false }) => [heard, { meant: meant.split(' '), ask }]),
    );
    this.everyday = new Set(data.everyday);
  }

  /** The best reading of the words from `from` to `to` as one misheard term, if any is near enough. */
  private nearest(tokens: readonly Token[], from: number, to: number): Repair | undefined {
    const said = tokens.slice(from, to).map((token) => token.word);
    const patched = this.patch.get(said.join(' '));
    if (patched) return { from, to, meant: patched.meant, cost: 0.1, doubtful: patched.ask };
    if (said.some((word) => isFixed(word, this.opposites))) return undefined;
    const sound = soundOf(said.join(''));
    if (sound.length < 4 || !this.mayBeNear(sound)) return undefined;
    const scored = this.fuse
      .search(sound, { limit: 8 })
      .map(({ item }) => ({ item, cost: soundCost(sound, item.sound, thresholds.repairAskCost) }))
      .sort((a, b) => a.cost - b.cost);
    const [best, second] = scored;
    if (!best || best.cost > thresholds.repairAskCost) return undefined;
    const word = best.item.words[0]!;
    const opposite = this.oppositeOf.get(word);
    const margin = opposite ? soundCost(sound, soundOf(opposite)) - best.cost : 1;
    const rival = second ? second.cost - best.cost : 1;
    const sameWord =
      second &&
      (second.item.words[0]!.startsWith(word.slice(0, 5)) ||
        word.startsWith(second.item.words[0]!.slice(0, 5)));
    const doubtful =
      best.cost > thresholds.repairAcceptCost ||
      margin < thresholds.repairOppositeMargin ||
      (rival < thresholds.repairMargin && !sameWord) ||
      (to - from === 1 && this.everyday.has(said[0]!)) ||
      (to - from > 1 && said.every((part) => this.everyday.has(part)));
    return { from, to, meant: best.item.words, cost: best.cost, doubtful };
  }

  /** A cheap look whether any term shares enough pairs of sounds to be worth a search. */
  private mayBeNear(sound: string): boolean {
    const pairs = pairsOf(sound);
    const hits = new Map<number, number>();
    for (const pair of pairs) {
      for (const index of this.bigrams.get(pair) ?? []) {
        const count = (hits.get(index) ?? 0) + 1;
        if (
          count >= Math.max(2, pairs.length * 0.4) &&
          Math.abs(this.terms[index]!.sound.length - sound.length) <= sound.length * 0.4
        )
          return true;
        hits.set(index, count);
      }
    }
    return false;
  }

  /** The cheapest repairs that touch the given unexplained words and do not overlap. */
  repairs(tokens: readonly Token[], unknown: ReadonlySet<number>): Repair[] {
    const found: Repair[] = [];
    for (const at of unknown) {
      for (let length = 1; length <= 4; length += 1) {
        for (
          let from = Math.max(0, at - length + 1);
          from <= at && from + length <= tokens.length;
          from += 1
        ) {
          const { word } = tokens[from]!;
          if (
            length > 2 &&
            !this.patch.has(
              tokens
                .slice(from, from + length)
                .map((token) => token.word)
                .join(' '),
            )
          )
            continue;
          if (length === 1 && this.compiled.known.has(word)) continue;
          const repair = this.nearest(tokens, from, from + length);
          if (repair) found.push(repair);
        }
      }
    }
    found.sort((a, b) => a.cost - b.cost || b.to - b.from - (a.to - a.from));
    const chosen: Repair[] = [];
    for (const repair of found) {
      if (chosen.every((other) => repair.to <= other.from || repair.from >= other.to)) chosen.push(repair);
    }
    return chosen.sort((a, b) => a.from - b.from);
  }
}

const pairsOf = (sound: string): string[] =>
  Array.from({ length: Math.max(0, sound.length - 1) }, (_, index) => sound.slice(index, index + 2));

const repairers = new WeakMap<Compiled, Repairer>();

/** Repairs for the unexplained words of an utterance. Sides, numbers, negations and opposites are never touched. */
export function repairsFor(
  tokens: readonly Token[],
  unknown: ReadonlySet<number>,
  compiled: Compiled,
  vocabulary: Vocabulary,
): Repair[] {
  let repairer = repairers.get(compiled);
  if (!repairer) {
    repairer = new Repairer(vocabulary, compiled);
    repairers.set(compiled, repairer);
  }
  return repairer.repairs(tokens, unknown);
}

/** The token stream with the repairs put in. */
export function applyRepairs(tokens: readonly Token[], repairs: readonly Repair[]): Token[] {
  const out: Token[] = [];
  let at = 0;
  for (const repair of repairs) {
    out.push(...tokens.slice(at, repair.from));
    const first = tokens[repair.from]!;
    const last = tokens[repair.to - 1]!;
    repair.meant.forEach((word, index) =>
      out.push({
        word,
        raw: word,
        afterPause: index === 0 && first.afterPause,
        ...(index === 0 && first.afterStop ? { afterStop: true as const } : {}),
        question: index === repair.meant.length - 1 && last.question,
      }),
    );
    at = repair.to;
  }
  return [...out, ...tokens.slice(at)];
}
