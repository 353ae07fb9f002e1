import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { WORDS } from '../../vocabulary/words.ts';
import { apgarAt } from '../values/apgar.ts';
import { bloodLossAt } from '../values/blood-loss.ts';
import { bareClockAt } from '../values/clock-times.ts';
import type { Compiled, Marker, Meaning, PhaseWord } from './compile.ts';
import { cordGasAt } from '../values/cord-gas.ts';
import { drugAt } from '../values/drug.ts';
import type { Measured } from '../values/measured.ts';
import type { Token } from '../words/normalise.ts';
import { patientAt, type PatientWord } from '../values/patients.ts';
import type { SlotNumber } from '../values/slot-numbers.ts';
import { positionAt } from '../values/position.ts';
import { perineumAt } from '../values/perineum.ts';
import type { TimeSpan } from '../values/time-span.ts';
import { timeAt } from '../values/times.ts';
import { roleReader } from '../values/roles.ts';
import { matchesAt, NONE, type RoleReader } from '../words/trie.ts';
import { unnamedManoeuvreAt } from '../values/unnamed-manoeuvre.ts';
import { weightAt } from '../values/weight.ts';

export type Owner = 'mother' | 'baby' | 'speaker';

/** A stretch of the utterance and what it is. */
export type Chunk = { from: number; to: number } & (
  | { kind: 'anchor'; meaning: Meaning; roles: string[]; numbers: SlotNumber[]; sides: SideChunk[] }
  | { kind: 'patient'; patient: PatientWord; harmless: boolean }
  | { kind: 'measured'; measured: Measured }
  | { kind: 'time'; time: TimeSpan }
  | { kind: 'phase'; word: PhaseWord; text: string }
  | Omit<SideChunk, 'from' | 'to'>
  | HandChunk
  | { kind: 'style'; style: 'continuous' | 'rocking' }
  | { kind: 'direction'; direction: 'clockwise' | 'anticlockwise' }
  | { kind: 'role'; roles: string[] }
  | { kind: 'marker'; marker: Marker }
  | { kind: 'benign' }
  | { kind: 'light' }
  | { kind: 'unknown' }
);

/** The operator's own hand, named as a hand: "my left hand", "both hands". */
export interface HandChunk {
  kind: 'hand';
  from: number;
  to: number;
  hand: 'left' | 'right' | 'both';
  /** True where it is the hand of somebody else: "squeeze her left hand". */
  foreign: boolean;
}

export interface SideChunk {
  kind: 'side';
  from: number;
  to: number;
  side: 'left' | 'right';
  owner?: Owner;
}

/** What one chunk costs; the cheapest cover of the utterance is its reading. */
const COST = {
  anchor: 0.6,
  skipped: 0.01,
  measured: 0.8,
  time: 0.5,
  bareClock: 0.9,
  modifier: 0.35,
  /** Above a side and "hand in" or "hand out" together with it. */
  hand: 0.7,
  /** Above a wording of the same words: "rotating clockwise" said by itself is a question. */
  turning: 0.7,
  role: 1.5,
  marker: 0.5,
  /** Below its own words taken as fillers: "her first". */
  others: 0.2,
  benign: 0.25,
  light: 0.05,
  unknown: 3,
};

const STYLES: Record<string, 'continuous' | 'rocking'> = {
  continuous: 'continuous',
  constant: 'continuous',
  steady: 'continuous',
  sustained: 'continuous',
  continuously: 'continuous',
  rocking: 'rocking',
  intermittent: 'rocking',
  intermittently: 'rocking',
};

function sideAt(tokens: readonly Token[], at: number): SideChunk | undefined {
  let to = at;
  let owner: Owner | undefined;
  for (const who of OWNERS) {
    if (
      WORDS.owners[who].includes(tokens[to]!.word) &&
      /^(left|right|'s|own)$/.test(tokens[to + 1]?.word ?? '')
    ) {
      const next = tokens[to + 1]!.word;
      const reach = next === "'s" || next === 'own' ? to + 2 : to + 1;
      if (/^(left|right)$/.test(tokens[reach]?.word ?? '')) [owner, to] = [who, reach];
      break;
    }
  }
  if (owner === undefined && /^(my|your|our)$/.test(tokens[at - 1]?.word ?? '')) owner = 'speaker';
  if (isRightNow(tokens, at)) return undefined;
  const word = tokens[to]?.word;
  if (word !== 'left' && word !== 'right') return undefined;
  to += 1;
  if (tokens[to]?.word === "'s") to += 1;
  for (const noun of SIDE_NOUNS) {
    if (noun.every((part, offset) => tokens[to + offset]?.word === part)) {
      const hand = noun[0] === 'hand' && noun.length === 1;
      if (!hand) to += noun.length;
      break;
    }
  }
  return { kind: 'side', from: at, to, side: word, ...(owner ? { owner } : {}) };
}

/** "left hand", "my right hand", "both hands"; "left hand side" is a side. */
function handAt(tokens: readonly Token[], at: number): HandChunk | undefined {
  let to = at;
  // "woods screw using the right hand": the words before it say no more.
  if (/^(with|using)$/.test(tokens[to]!.word)) to += tokens[to + 1]?.word === 'the' ? 2 : 1;
  const owner = OWNERS.find((who) => WORDS.owners[who].includes(tokens[to]?.word ?? ''));
  if (owner) to += tokens[to + 1]?.word === "'s" ? 2 : 1;
  const word = tokens[to]?.word;
  const hand = word === 'left' || word === 'right' || word === 'both' ? word : undefined;
  const noun = tokens[to + 1]?.word ?? '';
  const named = hand === 'both' ? noun === 'hands' : noun === 'hand' && tokens[to + 2]?.word !== 'side';
  if (!hand || !named) return undefined;
  return { kind: 'hand', from: at, to: to + 2, hand, foreign: owner === 'mother' || owner === 'baby' };
}

const OWNERS = ['mother', 'baby', 'speaker'] as const;

const FILLERS: ReadonlySet<string> = new Set([...WORDS.light, ...WORDS.benign]);

const restIsFiller = (tokens: readonly Token[], from: number, to: number): boolean =>
  tokens.every(({ word }, index) => (index >= from && index < to) || FILLERS.has(word));

/** "going anticlockwise", "turning clockwise" of a rotation that was named. */
function turningAt(tokens: readonly Token[], at: number): Chunk | undefined {
  const direction = tokens[at + 1]?.word;
  if (!/^(going|turning|rotating)$/.test(tokens[at]!.word)) return undefined;
  return direction === 'clockwise' || direction === 'anticlockwise'
    ? { kind: 'direction', from: at, to: at + 2, direction }
    : undefined;
}

/** "right now", "right away": no side, unless the words before ask for one ("from the right now"). */
const isRightNow = (tokens: readonly Token[], at: number): boolean =>
  tokens[at]!.word === 'right' &&
  /^(now|away|then)$/.test(tokens[at + 1]?.word ?? '') &&
  !/^(the|from|to|on|is|maternal|mum|mother|her|'s|baby|my|your|facing|faces|looking|back|of|anterior|towards|spine)$/.test(
    tokens[at - 1]?.word ?? '',
  );

const sideChunks = (tokens: readonly Token[], places: number[]): SideChunk[] =>
  places.flatMap((at) => {
    const side =
      /^(left|right)$/.test(tokens[at]!.word) && places.includes(at - 1) ? undefined : sideAt(tokens, at);
    return side ? [side] : [];
  });

const SIDE_NOUNS = WORDS.sideNouns.map((noun) => noun.split(' ')).sort((a, b) => b.length - a.length);

function chunksAt(
  tokens: readonly Token[],
  at: number,
  compiled: Compiled,
  vocabulary: Vocabulary,
  roleAt: RoleReader,
): { chunk: Chunk; cost: number }[] {
  const { word } = tokens[at]!;
  const found: { chunk: Chunk; cost: number }[] = [];
  const add = (chunk: Chunk, cost: number) => found.push({ chunk, cost });
  for (const { meaning, to, roles, numbers, sides, skipped } of matchesAt(
    compiled.anchors,
    tokens,
    at,
    compiled.light,
    roleAt,
  )) {
    add(
      { kind: 'anchor', from: at, to, meaning, roles, numbers, sides: sideChunks(tokens, sides) },
      COST.anchor +
        skipped * COST.skipped +
        (meaning.kind === 'ambiguous' ? 0.05 : 0) +
        (roles.length > 0 ? 0.06 : 0),
    );
  }
  const measured = [
    apgarAt(tokens, at, vocabulary.ranges),
    cordGasAt(tokens, at, vocabulary.ranges),
    weightAt(tokens, at, vocabulary.ranges),
    bloodLossAt(tokens, at, vocabulary.ranges),
    perineumAt(tokens, at),
    positionAt(tokens, at),
    drugAt(tokens, at, compiled),
    unnamedManoeuvreAt(tokens, at, compiled),
  ];
  for (const one of measured)
    if (one && one.to > at)
      add(
        { kind: 'measured', from: at, to: one.to, measured: one },
        COST.measured + 0.01 * (one.to - at) + (one.problem ? 0.15 : 0),
      );
  const time = timeAt(tokens, at);
  if (time) add({ kind: 'time', from: at, to: time.to, time }, COST.time);
  const bare = bareClockAt(tokens, at);
  if (bare) add({ kind: 'time', from: at, to: bare.to, time: bare }, COST.bareClock);
  const alone = (to: number): boolean =>
    tokens.every(
      (token, index) =>
        (index >= at && index < to) ||
        compiled.light.has(token.word) ||
        (index >= to && (timeAt(tokens, to)?.to ?? 0) > index),
    );
  for (const { meaning, to } of matchesAt(compiled.phases, tokens, at, NONE)) {
    // Said by itself, "delivered" or "cut" is a call-out with more than one meaning, not a phase of nothing.
    const same = alone(to)
      ? found.find(({ chunk }) => chunk.kind === 'anchor' && chunk.to === to)
      : undefined;
    if (same) {
      same.cost = COST.modifier;
      continue;
    }
    add(
      {
        kind: 'phase',
        from: at,
        to,
        word: meaning,
        text: tokens
          .slice(at, to)
          .map((token) => token.word)
          .join(' '),
      },
      COST.modifier,
    );
  }
  // "cord clamped by the midwife": who did it, and nobody who was called.
  const agent = word === 'by' ? roleAt(tokens[at + 1]?.word === 'the' ? at + 2 : at + 1) : undefined;
  if (agent) add({ kind: 'benign', from: at, to: agent.to }, COST.benign);
  const side = sideAt(tokens, at);
  if (side) add(side, COST.modifier);
  const hand = handAt(tokens, at);
  if (hand) add(hand, COST.hand);
  const style = STYLES[word];
  // "rocking now", said by itself, is a call-out of its own.
  const callsAlone = found.some(({ chunk }) => chunk.kind === 'anchor' && restIsFiller(tokens, at, chunk.to));
  if (style && !callsAlone) add({ kind: 'style', from: at, to: at + 1, style }, COST.modifier);
  if (word === 'clockwise' || word === 'anticlockwise')
    add({ kind: 'direction', from: at, to: at + 1, direction: word }, COST.modifier);
  const turning = turningAt(tokens, at);
  if (turning) add(turning, COST.turning);
  const role = roleAt(at);
  if (role) add({ kind: 'role', from: at, to: role.to, roles: role.roles }, COST.role);
  for (const { meaning, to } of matchesAt(compiled.markers, tokens, at, NONE))
    add({ kind: 'marker', from: at, to, marker: meaning }, meaning === 'others' ? COST.others : COST.marker);
  if (isRightNow(tokens, at)) add({ kind: 'benign', from: at, to: at + 2 }, COST.benign);
  for (const { to } of matchesAt(compiled.benign, tokens, at, NONE))
    add({ kind: 'benign', from: at, to }, COST.benign);
  const patient = patientAt(tokens, at);
  if (patient) {
    // It costs what its words cost otherwise: whether anybody is meant is known only with the calls around it.
    const harmless = matchesAt(compiled.benign, tokens, patient.to - 1, NONE).some(
      ({ to }) => to === patient.to,
    );
    const led = patient.to > at + 1 ? 0.12 : 0;
    const cost = (harmless ? COST.benign : COST.unknown) - 0.02 + led;
    add({ kind: 'patient', from: at, to: patient.to, patient, harmless }, cost);
  }
  if (compiled.light.has(word)) add({ kind: 'light', from: at, to: at + 1 }, COST.light);
  add({ kind: 'unknown', from: at, to: at + 1 }, COST.unknown);
  return found;
}

/** The cheapest cover of the utterance by chunks, and its cost. */
export function segment(tokens: readonly Token[], compiled: Compiled, vocabulary: Vocabulary): Chunk[] {
  const roleAt = roleReader(tokens, compiled);
  const best: { cost: number; chunk?: Chunk }[] = Array.from({ length: tokens.length + 1 }, () => ({
    cost: Infinity,
  }));
  best[0] = { cost: 0 };
  for (let at = 0; at < tokens.length; at += 1) {
    const { cost } = best[at]!;
    if (cost === Infinity) continue;
    for (const option of chunksAt(tokens, at, compiled, vocabulary, roleAt)) {
      const total = cost + option.cost;
      if (total < best[option.chunk.to]!.cost - 1e-9)
        best[option.chunk.to] = { cost: total, chunk: option.chunk };
    }
  }
  const chunks: Chunk[] = [];
  for (let to = tokens.length; to > 0;) {
    const { chunk } = best[to]!;
    chunks.unshift(chunk!);
    to = chunk!.from;
  }
  return chunks;
}
