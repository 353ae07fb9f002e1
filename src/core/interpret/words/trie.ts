import { numberRun, type NumberRun } from '../values/numbers.ts';
import type { Token } from './normalise.ts';

/** A tree of word sequences. A `{role}` child stands for any role that the vocabulary knows. */
export interface TrieNode<T> {
  next: Map<string, TrieNode<T>>;
  role?: TrieNode<T>;
  /** `{slot}` children: a number that the slot takes stands there. */
  numbers?: Map<string, TrieNode<T>>;
  meanings: T[];
}

export const emptyTrie = <T>(): TrieNode<T> => ({ next: new Map(), meanings: [] });

export function addPhrase<T>(root: TrieNode<T>, words: readonly string[], meaning: T): void {
  let node = root;
  for (const word of words) {
    const slot = /^\{(\w+)\}$/.exec(word)?.[1];
    const numbered = slot === undefined || slot === 'role' ? undefined : (node.numbers ??= new Map());
    let child = numbered ? numbered.get(slot!) : slot ? node.role : node.next.get(word);
    if (!child) {
      child = emptyTrie();
      if (numbered) numbered.set(slot!, child);
      else if (slot) node.role = child;
      else node.next.set(word, child);
    }
    node = child;
  }
  node.meanings.push(meaning);
}

export interface Match<T> {
  meaning: T;
  from: number;
  to: number;
  roles: string[];
  /** Numbers at the places that the phrase leaves for them. */
  numbers: { slot: string; run: NumberRun }[];
  /** Places of side words that stand within the phrase ("the left arm"). */
  sides: number[];
  /** Tokens within the match that the phrase itself does not name. */
  skipped: number;
}

/** No words that may be passed over. */
export const NONE: ReadonlySet<string> = new Set();

/** Reads one or several roles joined by "and" at a place. */
export type RoleReader = (at: number) => { roles: string[]; to: number } | undefined;

/**
 * All phrases that begin at `at`. Light words between the phrase's words do not matter; a pause inside
 * a phrase does, since "no. fundal pressure" is not "no fundal pressure".
 */
export function matchesAt<T>(
  root: TrieNode<T>,
  tokens: readonly Token[],
  at: number,
  light: ReadonlySet<string>,
  roleAt?: RoleReader,
): Match<T>[] {
  const found: Match<T>[] = [];
  const walk = (
    node: TrieNode<T>,
    to: number,
    roles: string[],
    numbers: { slot: string; run: NumberRun }[],
    sides: number[],
    skipped: number,
    arrived: boolean,
  ): void => {
    if (arrived)
      for (const meaning of node.meanings)
        found.push({ meaning, from: at, to, roles, numbers, sides, skipped });
    const token = tokens[to];
    if (!token) return;
    const paused = token.afterPause && to > at;
    const child = node.next.get(token.word);
    if (child && !(paused && STOPS_AT_PAUSE.has(tokens[to - 1]!.word)))
      walk(child, to + 1, roles, numbers, sides, skipped, true);
    if (node.role && roleAt) {
      const role = roleAt(to);
      if (role) walk(node.role, role.to, [...roles, ...role.roles], numbers, sides, skipped, true);
    }
    const run = node.numbers && numberRun(tokens, to);
    if (run)
      for (const [slot, after] of node.numbers!)
        walk(after, run.to, roles, [...numbers, { slot, run }], sides, skipped, true);
    if (to > at && light.has(token.word) && !isDirection(tokens[to + 1]?.word) && !isToBe(tokens, to))
      walk(node, to + 1, roles, numbers, sides, skipped + 1, false);
    if (to > at && light.size > 0 && isSide(tokens, to))
      walk(node, to + 1, roles, numbers, [...sides, to], skipped + 1, false);
  };
  walk(root, at, [], [], [], 0, false);
  return found;
}

/** "gases to be sent" is a plan. */
const isToBe = (tokens: readonly Token[], at: number): boolean =>
  tokens[at]!.word === 'to' && tokens[at + 1]?.word === 'be';

/** The word before "clockwise" may be what is left of "anti-": no phrase passes over it. */
const isDirection = (word: string | undefined): boolean => word === 'clockwise' || word === 'anticlockwise';

const STOPS_AT_PAUSE = new Set(['no', 'not', "don't", 'stop', "can't"]);

/** A side word, or whose side it is: "baby's left", "maternal right". */
const isSide = (tokens: readonly Token[], at: number): boolean =>
  /^(left|right)$/.test(tokens[at]!.word) ||
  (/^(baby|fetal|maternal|mum|mother|infant|both)$/.test(tokens[at]!.word) &&
    /^(left|right|'s)$/.test(tokens[at + 1]?.word ?? ''));
