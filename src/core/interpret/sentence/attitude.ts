import { WORDS } from '../../vocabulary/words.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { single, type Call } from './calls.ts';
import { mayReplace } from '../decide/contradiction.ts';
import type { Token } from '../words/normalise.ts';
import type { Chunk } from './segment.ts';

const PRONOUN =
  /^(we|you|i|they|she|he|it|anyone|anybody|someone|somebody|there|the|a|any|that|this|everyone|we're|you're|her|mum|baby)$/;
const SUBJECT = /^(we|i|you|she|they|he|i'm|we're|i'll|we'll|you're|she's|they're|he's|i've|we've)$/;
const WH = /^(what|what's|when|when's|where|where's|who|who's|whose|why|which|how|how's|whether)$/;
/** "have cut an episiotomy": the speaker's own "I" was not heard. */
const PARTICIPLE =
  /^(cut|done|delivered|called|got|given|taken|clamped|started|stopped|tried|made|inserted|examined|a)$/;
const MODAL = /^(can|could|should|shall|would|will|may|might|did|does|must)$/;
const ORDER = /^(can|could|would|will)$/;
/** Times before this birth: nothing said in the same breath is sure to be about it. */
const BEFORE_THIS_BIRTH = /^(?:yesterday|last (?:night|week|month|year)|(?:years|months|weeks|days) ago)$/;
const POSTPOSED =
  /^(next|later|soon|shortly|not yet|if needed|if necessary|afterwards|in a moment|in a minute|in a second|in a sec|eventually|tomorrow|maybe|perhaps|probably|possibly|hopefully|before|until|unless|if|in case|any minute|any second|nearly|almost|on the way|on their way|on her way|on his way|rather)$/;

/** Conditions that begin a new thought after what was done. */
const STARTS_CONDITION = /^(if|unless|in case|when we|once we|then we can)$/;
/** Said between two call-outs, the second may put the first right. */
const SELF_CORRECTION = /^(actually|sorry|correction|wait|oops|rather|mean)$/;

const FILLER = /^(and|so|then|um|uh|er|erm|em|ah|hmm|mm|okay|ok|please|just|now)$/;

/** Does a question begin with this word here? */
function asks(word: string, next: string | undefined, clauseStart: boolean, afterCall: boolean): boolean {
  if (WH.test(word)) return true;
  if (!WORDS.question.has(word)) return false;
  if (word === 'do') return next !== undefined && PRONOUN.test(next) && (clauseStart || afterCall);
  if (word === 'have' || word === 'had')
    return (
      (clauseStart || (afterCall && next !== undefined && PRONOUN.test(next))) && !PARTICIPLE.test(next ?? '')
    );
  if (word === 'any' || word === 'anyone' || word === 'anybody') return clauseStart;
  // "this is a …" tells, "… is the paediatrician here" after a call-out asks.
  const inside = MODAL.test(word) || afterCall;
  return clauseStart || (inside && next !== undefined && PRONOUN.test(next));
}

/** Chunks of clauses that end in a question mark or a question tag ("… isn't it"). */
function closedQuestions(chunks: readonly Chunk[], tokens: readonly Token[]): Set<Chunk> {
  const voided = new Set<Chunk>();
  let clause: Chunk[] = [];
  const close = (question: boolean) => {
    if (question) clause.forEach((chunk) => voided.add(chunk));
    clause = [];
  };
  chunks.forEach((chunk, index) => {
    if (tokens[chunk.from]!.afterPause) close(false);
    clause.push(chunk);
    const marked = tokens.slice(chunk.from, chunk.to).some((token) => token.question);
    const tag =
      chunk.kind === 'marker' &&
      chunk.marker === 'tag' &&
      (index === chunks.length - 1 || tokens[chunk.to]?.afterPause === true);
    if (marked || tag) close(true);
  });
  return voided;
}

interface Attitudes {
  /** Chunks inside a question, a condition or a report: they log nothing and explain themselves. */
  voidFrom: Set<Chunk>;
  looseNegation: boolean;
}

/**
 * Marks calls that are asked, planned, supposed, denied or reported. A question or condition reaches from its
 * word to the next pause or the end; a denial reaches the next call, or the last one where it follows directly.
 */
export function attitudes(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): Attitudes {
  const voidFrom = closedQuestions(chunks, tokens);
  let scope: 'none' | 'question' | 'condition' | 'plan' = 'none';
  let clauseStart = true;
  let denial = false;
  /** What a "no" directly after it may have taken back. */
  let takenBack: Call | undefined;
  let looseNegation = false;
  let last: { call: Call; index: number } | undefined;
  chunks.forEach((chunk, index) => {
    const first = tokens[chunk.from]!;
    // A comma ends a question or a plan, but not an "if …".
    if (first.afterPause) clauseStart = true;
    if (first.afterStop || (first.afterPause && scope !== 'condition')) scope = 'none';
    const call = calls.get(chunk);
    const next = tokens[chunk.from + 1]?.word;
    const isWord =
      chunk.kind === 'light' ||
      chunk.kind === 'unknown' ||
      (chunk.kind === 'marker' && chunk.marker !== 'negation') ||
      chunk.kind === 'benign';
    const afterCall = last !== undefined && index === last.index + 1;
    // "there is thick meconium" tells.
    const opens = clauseStart && tokens[chunk.from - 1]?.word !== 'there';
    if (isWord && scope !== 'condition' && asks(first.word, next, opens, afterCall))
      // "can Sarah call the anaesthetist" may be an order to somebody by name: a person decides.
      scope =
        ORDER.test(first.word) && (namesSomebody(chunks[index + 1], next) || requests(tokens, chunk.from))
          ? 'plan'
          : 'question';
    if (
      clauseStart &&
      chunk.kind === 'marker' &&
      chunk.marker === 'negation' &&
      WORDS.question.has(first.word) &&
      next !== undefined &&
      PRONOUN.test(next)
    )
      scope = 'question';
    const direct = last !== undefined && follows(chunks, last.index, index, tokens);
    if (chunk.kind === 'marker') {
      const text = tokens
        .slice(chunk.from, chunk.to)
        .map((token) => token.word)
        .join(' ');
      if (chunk.marker === 'others' || BEFORE_THIS_BIRTH.test(text))
        for (const other of calls.values()) other.doubtful = true;
      if (chunk.marker === 'conditional' || chunk.marker === 'reported') {
        if (direct && last && (direct === 'bare' || POSTPOSED.test(text) || chunk.marker === 'reported')) {
          // "McRoberts on, if that fails …" tells what was done before it supposes anything.
          if (STARTS_CONDITION.test(text) && single(last.call)?.phase) last.call.doubtful = true;
          else last.call.voided = true;
        }
        scope = 'condition';
      } else if (chunk.marker === 'or') {
        if (last) last.call.doubtful = true;
        if (scope === 'none') scope = 'plan';
      } else if (chunk.marker === 'plan') {
        if (direct && last && /think|believe|reckon|sure|unsure|seems|possibl|uncertain/.test(text))
          last.call.doubtful = true;
        if (scope === 'none') scope = 'plan';
      } else if (chunk.marker === 'negation') {
        if (direct === 'bare' && last && first.word !== 'no' && !callFollows(chunks, calls, index))
          last.call.voided = true;
        else if (first.word === 'no' && tokens[chunk.to]?.afterPause) looseNegation = true;
        else {
          denial = true;
          takenBack = first.word === 'no' && direct ? last?.call : undefined;
        }
      }
    }
    if (
      call &&
      last &&
      correctsItself(tokens, last.call.to, chunk.from) &&
      mayReplace(last.call, call, vocabulary)
    )
      last.call.doubtful = call.doubtful = true;
    const isVoid = scope === 'question' || scope === 'condition';
    if (isVoid) voidFrom.add(chunk);
    if (call) {
      if (denial || isVoid || voidFrom.has(chunk)) call.voided = true;
      else if (scope === 'plan') call.doubtful = true;
      // "Woods screw no reverse Woods screw" takes back, "head out no shoulders yet" does not.
      if (
        denial &&
        takenBack &&
        tokens[chunk.to]?.word !== 'yet' &&
        mayReplace(takenBack, call, vocabulary)
      ) {
        takenBack.doubtful = true;
        takenBack.alternatives ??= [call.entries];
      }
      denial = false;
      takenBack = undefined;
      last = { call, index };
    }
    if (chunk.kind === 'unknown' && denial) {
      // The "no" is about a word that is not ours.
      denial = false;
      looseNegation ||= !isVoid;
    }
    const filler = chunk.kind === 'benign' || (chunk.kind === 'light' && FILLER.test(first.word));
    if (!filler && !(chunk.kind === 'side' && clauseStart)) clauseStart = false;
  });
  return { voidFrom, looseNegation: looseNegation || denial };
}

/** "bare" when only fillers stand between a call and here, "subject" when somebody new is named first. */
function follows(
  chunks: readonly Chunk[],
  from: number,
  to: number,
  tokens: readonly Token[],
): 'bare' | 'subject' | undefined {
  let subject = false;
  for (let at = from + 1; at < to; at += 1) {
    const chunk = chunks[at]!;
    if (tokens[chunk.from]!.afterPause) return undefined;
    if (
      chunk.kind === 'unknown' ||
      chunk.kind === 'marker' ||
      chunk.kind === 'anchor' ||
      chunk.kind === 'measured'
    )
      return undefined;
    if (chunk.kind === 'light' && SUBJECT.test(tokens[chunk.from]!.word)) subject = true;
  }
  if (to > from + 0 && chunks[to] && tokens[chunks[to]!.from]!.afterPause) return undefined;
  return subject ? 'subject' : 'bare';
}

function callFollows(chunks: readonly Chunk[], calls: ReadonlyMap<Chunk, Call>, index: number): boolean {
  for (let at = index + 1; at < chunks.length; at += 1) {
    const chunk = chunks[at]!;
    if (calls.has(chunk)) return true;
    if (chunk.kind !== 'light' && chunk.kind !== 'benign') return false;
  }
  return false;
}

const correctsItself = (tokens: readonly Token[], from: number, to: number): boolean =>
  tokens.slice(from, to).some(({ word }) => SELF_CORRECTION.test(word));

/** "can I have suprapubic pressure", "could you … please" are orders in the form of a question. */
function requests(tokens: readonly Token[], from: number): boolean {
  const [who, verb] = [tokens[from + 1]?.word ?? '', tokens[from + 2]?.word ?? ''];
  const end = tokens.findIndex((token, index) => index > from && (token.afterStop || token.question));
  const rest = tokens.slice(from, end < 0 ? undefined : end);
  const wish = /^(i|we)$/.test(who) && /^(have|get)$/.test(verb);
  return wish || (/^(you|we)$/.test(who) && rest.some(({ word }) => word === 'please'));
}

const namesSomebody = (chunk: Chunk | undefined, word: string | undefined): boolean =>
  chunk?.kind === 'unknown' || word === 'someone' || word === 'somebody';
