import type { Entry, FetalPosition, Side } from '../entry.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import { clockText, logged } from './logged.ts';
import table from './sides.json';
import type { Conflict, SideFacts, SideQuestion, SideReading } from './types.ts';

/**
 * What goes together in one row of the truth table (sides.json, with its sources). `back`, `face`,
 * `suprapubicFrom` and `pushToward` are sides of the mother; `anteriorShoulder` is the baby's own.
 */
export interface SideRow {
  back: Side;
  face: Side;
  anteriorShoulder: Side;
  suprapubicFrom: Side;
  pushToward: Side;
}

const byBack = table.byBack as Record<Side, SideRow>;
const backOfPosition = table.backOfPosition as Record<FetalPosition, Side | null>;

/** The row for a position of the head; null for direct OA and OP, which tell no side. */
export function rowOfPosition(position: FetalPosition): SideRow | null {
  const back = backOfPosition[position];
  return back === null ? null : byBack[back];
}

export const rowOfBack = (back: Side): SideRow => byBack[back];

const opposite = (side: Side): Side => (side === 'left' ? 'right' : 'left');
/** The row for the side of the mother that the head faces. */
export const rowOfFace = (face: Side): SideRow => byBack[opposite(face)];
/** The row for the baby's own shoulder that lies anterior. */
export const rowOfAnteriorShoulder = (shoulder: Side): SideRow => byBack[opposite(shoulder)];

type Told = Pick<SideReading, 'fact' | 'said' | 'impliesBack'>;

/** What one entry says of the sides; null where it says nothing. */
export function sideToldBy(entry: Entry): Told | null {
  const { code, side, babySide, position } = entry;
  if (code === 'fetal-position' && position !== undefined) {
    const row = rowOfPosition(position);
    return row && { fact: 'position', said: `position of the head ${position}`, impliesBack: row.back };
  }
  if (code === 'head-faces' && side !== undefined) {
    const { back } = rowOfFace(side);
    return { fact: 'head-faces', said: `head faces the mother's ${side}`, impliesBack: back };
  }
  if (code === 'fetal-back' && side !== undefined) {
    return { fact: 'fetal-back', said: `baby's back on the mother's ${side}`, impliesBack: side };
  }
  if (code === 'anterior-shoulder' && (babySide === 'left' || babySide === 'right')) {
    const { back } = rowOfAnteriorShoulder(babySide);
    return { fact: 'anterior-shoulder', said: `baby's ${babySide} shoulder anterior`, impliesBack: back };
  }
  if (code === 'suprapubic-pressure' && side !== undefined) {
    const said = `suprapubic pressure from the mother's ${side}`;
    return { fact: 'suprapubic-side', said, impliesBack: side };
  }
  return null;
}

/**
 * Sides as recorded: whether the findings fit together, which do not, and which are missing. Picks none, and offers
 * no answer. The side from which pressure was given is an act and not a finding: it contradicts nothing.
 */
export function sides(view: RecordView): SideFacts {
  const readings = logged(view).flatMap((e) => readingOf(e));
  const findings = readings.filter(({ fact }) => fact !== 'suprapubic-side');
  const contradictions = contradictionsIn(view, findings);
  const compared = findings.length > 1;
  return {
    readings,
    consistency: contradictions.length > 0 ? 'contradiction' : compared ? 'consistent' : 'nothing to compare',
    contradictions,
    questions: questionsFor(view, readings),
  };
}

function readingOf(e: EntryView): SideReading[] {
  const told = sideToldBy(e.entry);
  return told === null ? [] : [{ ...told, entryId: e.entryId, atMs: e.atMs }];
}

/** One conflict for each pair of different statements; the same statement said again is not listed twice. */
function contradictionsIn(view: RecordView, readings: readonly SideReading[]): Conflict[] {
  const found = new Map<string, Conflict>();
  for (const [index, a] of readings.entries()) {
    for (const b of readings.slice(index + 1)) {
      if (a.impliesBack === b.impliesBack) continue;
      const key = [a.said, b.said].sort().join(' | ');
      const known = found.get(key);
      if (known === undefined) found.set(key, sideConflict(view, a, b));
      else known.entryIds = [...new Set([...known.entryIds, a.entryId, b.entryId])];
    }
  }
  return [...found.values()];
}

function sideConflict(view: RecordView, a: SideReading, b: SideReading): Conflict {
  const told = (reading: SideReading) => `"${reading.said}" (${clockText(view, reading.atMs)})`;
  return {
    id: `sides-${a.entryId}-${b.entryId}`,
    kind: 'sides',
    sentence: `These do not fit together: ${told(a)} and ${told(b)}.`,
    entryIds: [a.entryId, b.entryId],
  };
}

const QUESTIONS: { fact: SideReading['fact']; question: string }[] = [
  { fact: 'anterior-shoulder', question: "Which of the baby's own shoulders lay anterior?" },
  { fact: 'head-faces', question: 'Which way did the head face after it had turned?' },
  { fact: 'suprapubic-side', question: 'From which side of the mother was suprapubic pressure given?' },
];

function questionsFor(view: RecordView, readings: readonly SideReading[]): SideQuestion[] {
  const pressed = logged(view, 'suprapubic-pressure').length > 0;
  return QUESTIONS.filter(({ fact }) => !readings.some((reading) => reading.fact === fact))
    .filter(({ fact }) => fact !== 'suprapubic-side' || pressed)
    .map(({ fact, question }) => ({ id: fact, question }));
}
