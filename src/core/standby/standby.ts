import { meaningsOf, type HeardUtterance } from '../dialogue/take-in.ts';
import type { Interpretation } from '../interpret/interpretation.ts';
import type { RecordView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import rules from './rules.json';

/**
 * Standby: somebody listens before there is a record, and nothing is kept. What was understood in the last three
 * minutes is in memory; a call-out that begins a record hands it on. All times in ms of one clock, that of the sound.
 */
export type Standby =
  | { kind: 'standing-by'; held: readonly HeardUtterance[] }
  /** A record is being made; `held` waits to be taken into it, and nothing of it goes any more. */
  | { kind: 'begun'; by: 'voice' | 'touch'; held: readonly HeardUtterance[] };

export type StandbyEvent =
  | { kind: 'heard'; utterance: HeardUtterance; meaning: Interpretation }
  | { kind: 'touch' }
  /** The record was made and holds what was heard up to this one. */
  | { kind: 'taken'; utterance: HeardUtterance }
  /** The record could not be made: it stands by again, with what it has. */
  | { kind: 'refused' }
  | { kind: 'tick' };

export const STANDING_BY: Standby = { kind: 'standing-by', held: [] };

/**
 * Whether a call-out begins a record. One that is unsure does, too, and is asked about in the record; one whose best
 * reading is something else does not: "it's a boy" may have been a head, and is far more often said of no head.
 */
export function begins(meaning: Interpretation): boolean {
  if (meaning.outcome === 'unrecognised') return false;
  if (meaning.outcome === 'command' && rules.beginCommands.includes(meaning.command.code)) return true;
  return meaning.entries.some(({ code }) => rules.begins.includes(code));
}

/**
 * What standby goes by: where any one listening begins a record, that one, since a missed beginning costs the record
 * and a start too many costs a touch. The record itself takes the utterance in by all its listenings and logs no more
 * than they agree on.
 */
export const meaningInStandby = (
  utterance: HeardUtterance,
  nothing: RecordView,
  vocabulary: Vocabulary,
): Interpretation => {
  const [whole, ...alone] = meaningsOf(utterance, nothing, vocabulary);
  return begins(whole!) ? whole! : (alone.find(begins) ?? whole!);
};

/** Whether it is held for a record that may begin; talk and questions to the tool are not. */
function isHeld(meaning: Interpretation): boolean {
  if (meaning.outcome === 'command')
    return rules.held.includes(meaning.command.code) || rules.beginCommands.includes(meaning.command.code);
  return meaning.outcome !== 'unrecognised';
}

const fresh = (held: readonly HeardUtterance[], nowMs: number): readonly HeardUtterance[] => {
  const left = held.filter(({ endMs }) => endMs >= nowMs - rules.heldMs);
  return left.length === held.length ? held : left;
};

/** The next state. Pure; `nowMs` is the time of the event. */
export function stepStandby(state: Standby, event: StandbyEvent, nowMs: number): Standby {
  const held = state.kind === 'begun' ? state.held : fresh(state.held, nowMs);
  switch (event.kind) {
    case 'heard': {
      // While the record is being made everything waits for it, talk as well, as a running record keeps it.
      if (state.kind === 'begun') return { ...state, held: [...held, event.utterance] };
      if (!isHeld(event.meaning)) return { ...state, held };
      const all = [...held, event.utterance];
      return begins(event.meaning)
        ? { kind: 'begun', by: 'voice', held: all }
        : { kind: 'standing-by', held: all };
    }
    case 'touch':
      return state.kind === 'begun' ? state : { kind: 'begun', by: 'touch', held };
    case 'taken':
      return { ...state, held: held.filter((one) => one !== event.utterance) };
    case 'refused':
      return { kind: 'standing-by', held: fresh(held, nowMs) };
    case 'tick':
      return held === state.held ? state : { ...state, held };
  }
}
