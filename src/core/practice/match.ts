import type { Entry, Phase } from '../entry.ts';
import { cheapestAssignment } from './assign.ts';
import rules from './match-rules.json' with { type: 'json' };

/** What is compared: the truth event's or the record entry's code, slots and time. */
export interface Timed {
  atMs: number;
  entry: Entry;
}

/** A slot in which the record differs from the truth; `recorded` is undefined where it was left out. */
export interface SlotDifference {
  slot: string;
  truth: unknown;
  recorded: unknown;
}

/** Indices into the two lists. */
export interface Pairing {
  pairs: { truth: number; entry: number }[];
  unpairedTruth: number[];
  unpairedEntries: number[];
}

/** Slots that carry words rather than facts. */
const NOT_COMPARED = new Set(['code', 'phase', 'spoken', 'text', 'unclear', 'dose', 'method', 'parts']);

type PhaseKind = 'begun' | 'ended' | 'result' | 'open';
const PHASE_KIND: Record<Phase, PhaseKind> = {
  start: 'begun',
  stop: 'ended',
  done: 'result',
  succeeded: 'result',
  failed: 'result',
};
const phaseKind = (phase: Phase | undefined): PhaseKind => (phase === undefined ? 'open' : PHASE_KIND[phase]);

/**
 * Whether an entry can stand for an event at all: the same code, and no opposite phase. A beginning is never
 * taken for an end or a result; a bare name can be a beginning or a result, but never an end.
 */
function comparable(truth: Entry, recorded: Entry): boolean {
  if (truth.code !== recorded.code) return false;
  const [a, b] = [phaseKind(truth.phase), phaseKind(recorded.phase)];
  return a === b || (a === 'open' && b !== 'ended') || (b === 'open' && a !== 'ended');
}

/** The slots that the truth states and the record has otherwise or not at all. */
export function slotDifferences(truth: Entry, recorded: Entry): SlotDifference[] {
  const differences: SlotDifference[] = [];
  const said = recorded as unknown as Record<string, unknown>;
  for (const [slot, value] of Object.entries(truth)) {
    if (NOT_COMPARED.has(slot) || value === undefined || said[slot] === value) continue;
    differences.push({ slot, truth: value, recorded: said[slot] });
  }
  const failed = (phase: Phase | undefined) => phase === 'failed';
  const bothResults = phaseKind(truth.phase) === 'result' && phaseKind(recorded.phase) === 'result';
  if (bothResults && failed(truth.phase) !== failed(recorded.phase))
    differences.push({ slot: 'phase', truth: truth.phase, recorded: recorded.phase });
  return differences;
}

/**
 * Price of a pair, in seconds: the time between the two, plus `slotSeconds` for each slot that contradicts the
 * truth. The trace of the square keeps like entries in their order where two pairings would cost the same.
 */
function pairPrice(truth: Timed, recorded: Timed): number {
  if (!comparable(truth.entry, recorded.entry)) return NEVER;
  const seconds = Math.abs(recorded.atMs - truth.atMs) / 1000;
  return seconds + 1e-6 * seconds ** 2 + rules.slotSeconds * contradictions(truth.entry, recorded.entry);
}

const contradictions = (truth: Entry, recorded: Entry): number =>
  slotDifferences(truth, recorded).filter((difference) => difference.recorded !== undefined).length;

/** Dearer than leaving everything unpaired, and finite for the assignment. */
const NEVER = 1e9;

/**
 * Pairs what happened with what was recorded: the cheapest one-to-one pairing over all events and entries.
 * A pair costs its `pairPrice`, an event or an entry without a partner `unpairedSeconds`; so a pair is never
 * dearer than twice that. What is then left over is paired late only where there is no choice (`lonePair`).
 */
export function pairUp(truth: readonly Timed[], entries: readonly Timed[]): Pairing {
  const pairs: Pairing['pairs'] = [];
  for (const code of new Set(truth.map((event) => event.entry.code))) {
    pairs.push(...pairCode(truth, entries, indicesOf(truth, code), indicesOf(entries, code)));
  }
  const pairedTruth = new Set(pairs.map((pair) => pair.truth));
  const pairedEntries = new Set(pairs.map((pair) => pair.entry));
  return {
    pairs: pairs.sort((a, b) => truth[a.truth]!.atMs - truth[b.truth]!.atMs || a.truth - b.truth),
    unpairedTruth: [...truth.keys()].filter((at) => !pairedTruth.has(at)),
    unpairedEntries: [...entries.keys()].filter((at) => !pairedEntries.has(at)),
  };
}

const indicesOf = (list: readonly Timed[], code: string): number[] =>
  [...list.keys()].filter((at) => list[at]!.entry.code === code);

/** Entries of different codes never pair, so each code is solved alone. */
function pairCode(
  truth: readonly Timed[],
  entries: readonly Timed[],
  events: readonly number[],
  recorded: readonly number[],
): Pairing['pairs'] {
  // Beside the real columns, each event has one of its own for staying unpaired, and so has each entry a row.
  const size = events.length + recorded.length;
  const price = Array.from({ length: size }, (_, row) =>
    Array.from({ length: size }, (_, column) => {
      const event = events[row];
      const entry = recorded[column];
      if (event !== undefined && entry !== undefined) return pairPrice(truth[event]!, entries[entry]!);
      return event === undefined && entry === undefined ? 0 : rules.unpairedSeconds;
    }),
  );
  const columnOf = cheapestAssignment(price);
  const pairs = events.flatMap((event, row) => {
    const entry = recorded[columnOf[row]!];
    return entry === undefined ? [] : [{ truth: event, entry }];
  });
  const late = lonePair(truth, entries, events, recorded, pairs);
  return late ? [...pairs, late] : pairs;
}

/**
 * The one event and the one entry of a code that are left over, where they agree in every slot, lie at most
 * `furthestSeconds` apart and swap their order with no other pair.
 */
function lonePair(
  truth: readonly Timed[],
  entries: readonly Timed[],
  events: readonly number[],
  recorded: readonly number[],
  pairs: Pairing['pairs'],
): Pairing['pairs'][number] | null {
  const [event, ...moreEvents] = events.filter((at) => !pairs.some((pair) => pair.truth === at));
  const [entry, ...moreEntries] = recorded.filter((at) => !pairs.some((pair) => pair.entry === at));
  if (event === undefined || entry === undefined || moreEvents.length + moreEntries.length > 0) return null;
  const [happened, told] = [truth[event]!, entries[entry]!];
  if (!comparable(happened.entry, told.entry) || contradictions(happened.entry, told.entry) > 0) return null;
  if (Math.abs(happened.atMs - told.atMs) > rules.furthestSeconds * 1000) return null;
  const swaps = pairs.some(
    (pair) => truth[pair.truth]!.atMs < happened.atMs !== entries[pair.entry]!.atMs < told.atMs,
  );
  return swaps ? null : { truth: event, entry };
}
