import type { RecordView } from '../log/view.ts';
import { completeness, type Completeness } from './completeness.ts';
import { conflicts } from './conflicts.ts';
import { cordGas, type CordGasFacts } from './cord-gas.ts';
import { intervals } from './intervals.ts';
import { manoeuvres } from './manoeuvres.ts';
import { sides } from './sides.ts';
import type { Conflict, Interval, ManoeuvreSpan, SideFacts } from './types.ts';

/** Everything that follows from the entries of a record; each fact names the entries it rests on. */
export interface Facts {
  intervals: Interval[];
  manoeuvres: ManoeuvreSpan[];
  /** All of them, those of the sides included. */
  conflicts: Conflict[];
  sides: SideFacts;
  cordGas: CordGasFacts;
  completeness: Completeness;
}

/** Derives the facts of a record. Nothing is guessed, mended, graded or predicted. */
export function deriveFacts(view: RecordView): Facts {
  const { spans, conflicts: spanConflicts } = manoeuvres(view);
  const lengths = intervals(view, spans);
  const gas = cordGas(view);
  const sideFacts = sides(view);
  return {
    intervals: lengths,
    manoeuvres: spans,
    conflicts: [...conflicts(view, gas), ...spanConflicts, ...sideFacts.contradictions],
    sides: sideFacts,
    cordGas: gas,
    completeness: completeness(view, lengths, spans),
  };
}
