import type { RecordView } from '../core/log/view.ts';
import type { Debrief } from '../core/practice/debrief-types.ts';
import { debrief } from '../core/practice/debrief.ts';
import type { Drill, DrillWay } from '../core/practice/drill.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';

/** Counts of a drill: what happened against what stands in its record. Holds no words of anybody. */
export interface Truth {
  way: DrillWay;
  events: number;
  recorded: number;
  right: number;
  inTime: number;
  medianErrorMs: number | null;
  headToBodyErrorMs: number | null;
}

type Debriefed = Pick<Debrief, 'way' | 'counts' | 'timeError' | 'headToBody'>;

function truthOf({ way, counts, timeError, headToBody }: Debriefed): Truth | null {
  const right = counts.called + counts.late + counts.early;
  const events = right + counts.wrong + counts.missing;
  if (events === 0) return null;
  return {
    way,
    events,
    recorded: events - counts.missing,
    right,
    inTime: counts.called,
    medianErrorMs: timeError.medianMs,
    headToBodyErrorMs: headToBody.errorMs,
  };
}

/** From the drill as the device keeps it; undefined where nothing happened in it. */
export const truthOfDrill = (drill: Drill, view: RecordView, vocabulary: Vocabulary): Truth | undefined =>
  truthOf(debrief(drill, view, vocabulary)) ?? undefined;

const WAYS: readonly string[] = ['recording', 'live', 'table-top'] satisfies DrillWay[];
const isCount = (value: unknown): boolean => Number.isInteger(value) && (value as number) >= 0;
const isTime = (value: unknown): boolean => value === null || Number.isFinite(value);

/** From an exported debrief (format utterlog-practice-debrief), which may come from anywhere; null where it is none. */
export function truthOfDebrief(value: unknown): { recordId: string; truth: Truth } | null {
  const file = value as Partial<Debriefed & { format: unknown; recordId: unknown }> | null;
  if (typeof file !== 'object' || file === null || file.format !== 'utterlog-practice-debrief') return null;
  const { recordId, way, counts, timeError, headToBody } = file;
  const counted = ['called', 'late', 'early', 'wrong', 'missing'] as const;
  if (typeof recordId !== 'string' || !WAYS.includes(String(way))) return null;
  if (!counts || !counted.every((name) => isCount(counts[name]))) return null;
  if (!timeError || !isTime(timeError.medianMs) || !headToBody || !isTime(headToBody.errorMs)) return null;
  const truth = truthOf({ way: way!, counts, timeError, headToBody });
  return truth === null ? null : { recordId, truth };
}
