import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { WORDS } from '../../vocabulary/words.ts';
import type { Compiled } from '../sentence/compile.ts';
import data from './confusions.json';
import type { Token } from './normalise.ts';
import { startsNumber } from '../values/numbers.ts';
import { soundCost, soundOf } from './sound.ts';
import thresholds from '../decide/thresholds.json';

/** A stretch of words taken as a misheard word of the trade. */
export interface Repair {
  from: number;
  to: number;
  meant: string[];
  /** 0 to 1: how far the sound is from the word. */
  cost: number;
  /** Too near to an opposite or an everyday word to be taken without a question. */
  doubtful: boolean;
  /** Plain words of every day: in talk they mean themselves. */
  everyday: boolean;
}

interface Term {
  words: string[];
  sound: string;
}

/** Words that stand for nothing but themselves: sides, numbers, opposites, short words. */
function isFixed(word: string, opposites: ReadonlySet<string>): boolean {
  return (
    opposites.has(word) ||
    startsNumber(word) ||
    WORDS.negation.has(word) ||
    WORDS.light.has(word) ||
    WORDS.question.has(word)
  );
}

type Nearest = Omit<Repair, 'from' | 'to'>;

/** The same words come again and again: what they sound like is remembered, up to this many. */
const REMEMBERED = 5000;

class Repairer {
  private readonly terms: Term[];
  private readonly bigrams = new Map<string, number[]>();
  private readonly remembered = new Map<string, Nearest | undefined>();
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
      [...compiled.terms, ...WORDS.trade].filter(
        (word) => word.length >= thresholds.repairShortestWord && /^[a-z]+$/.test(word),
      ),
    );
    this.terms = [...single]
      .filter((word) => WORDS.trade.has(word) || word.length >= 7)
      .map((word) => ({ words: [word], sound: soundOf(word) }));
    this.terms.push({ words: ['woods', 'screw'], sound: soundOf('woodsscrew') });
    this.terms.forEach(({ sound }, index) => {
      for (const pair of new Set(pairsOf(sound)))
        this.bigrams.set(pair, [...(this.bigrams.get(pair) ?? []), index]);
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
    const key = said.join(' ');
    if (!this.remembered.has(key)) {
      if (this.remembered.size >= REMEMBERED) this.remembered.clear();
      this.remembered.set(key, this.nearestTo(said));
    }
    const found = this.remembered.get(key);
    return found && { from, to, ...found };
  }

  private nearestTo(said: string[]): Nearest | undefined {
    const patched = this.patch.get(said.join(' '));
    if (patched) return { meant: patched.meant, cost: 0.1, doubtful: patched.ask, everyday: false };
    if (said.some((word) => isFixed(word, this.opposites))) return undefined;
    const sound = soundOf(said.join(''));
    if (sound.length < 4) return undefined;
    const near = this.near(sound)
      .map((term) => ({ ...term, cost: soundCost(sound, term.sound, thresholds.repairAskCost) }))
      .filter(({ cost }) => cost <= thresholds.repairAskCost + thresholds.repairMargin);
    // What is too far by the confusion costs needs no search, and that is nearly everything.
    if (!near.some(({ cost }) => cost <= thresholds.repairAskCost)) return undefined;
    const scored = near.sort((a, b) => a.cost - b.cost);
    const [best] = scored;
    if (!best || best.cost > thresholds.repairAskCost) return undefined;
    const word = best.words[0]!;
    if (denies(said.join(''), word)) return undefined;
    // A window that already holds the word, or a part of the body, would only swallow its neighbour.
    const holds = (part: string): boolean =>
      best.words.includes(part) || WORDS.body.has(part) || (part.length > 4 && word.startsWith(part));
    if (said.length > 1 && said.some(holds)) return undefined;
    const opposite = this.oppositeOf.get(word);
    const margin = opposite ? soundCost(sound, soundOf(opposite)) - best.cost : 1;
    const second = scored.find(({ words }) => words[0]!.slice(0, 5) !== word.slice(0, 5));
    const rival = second ? second.cost - best.cost : 1;
    const everyday = said.every((part) => this.everyday.has(part));
    const doubtful =
      best.cost > thresholds.repairAcceptCost ||
      margin < thresholds.repairOppositeMargin ||
      rival < thresholds.repairMargin ||
      everyday;
    return { meant: best.words, cost: best.cost, doubtful, everyday };
  }

  /** The few terms that share most pairs of sounds: a cheap sieve, since a search over all takes too long. */
  private near(sound: string): Term[] {
    const pairs = pairsOf(sound);
    const counts = new Uint8Array(this.terms.length);
    const hits: number[] = [];
    const enough = Math.max(2, Math.ceil(pairs.length * 0.3));
    for (const pair of pairs) {
      for (const index of this.bigrams.get(pair) ?? []) {
        counts[index]! += 1;
        if (counts[index] === enough) hits.push(index);
      }
    }
    return hits
      .filter(
        (index) =>
          Math.abs(this.terms[index]!.sound.length - sound.length) <= Math.max(2, sound.length * 0.35),
      )
      .sort((a, b) => counts[b]! - counts[a]!)
      .slice(0, 8)
      .map((index) => this.terms[index]!);
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

/** "incomplete" is no misheard "complete": a negation is never mended away. */
const denies = (heard: string, meant: string): boolean =>
  ['un', 'in', 'im', 'non', 'dis'].some((prefix) => heard.startsWith(prefix + meant.slice(0, 3)));

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
