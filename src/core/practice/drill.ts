import type { Entry } from '../entry.ts';
import type { Scenario } from './scenario.ts';

/** recording: a bundled recording was played; live: with a mannequin; table-top: typed. */
export type DrillWay = 'recording' | 'live' | 'table-top';

/** Something that truly happened in a drill. */
export interface DrillTruth {
  id: string;
  /** Time of the drill's record, ms. */
  atMs: number;
  entry: Entry;
  /** Whether somebody called it out, where a person or the script knows. */
  said?: boolean;
}

/** A scripted line as it was played. */
export interface PlayedLine {
  /** Time of the drill's record, ms. */
  atMs: number;
  text: string;
  /** Truth ids. */
  says: string[];
}

/** One drill: what happened. What was called out is in the practice record with the same id. */
export interface Drill {
  format: 'utterlog-drill';
  version: 1;
  /** Id of its practice record. */
  recordId: string;
  way: DrillWay;
  scenarioId: string;
  scenarioTitle: string;
  /** ISO 8601 with offset. */
  startedAt: string;
  /** In time order. */
  truth: DrillTruth[];
  /** Empty unless a recording was played. */
  lines: PlayedLine[];
}

export interface NewDrill {
  recordId: string;
  way: DrillWay;
  scenario: Scenario;
  startedAt: string;
}

/** A drill in which nothing has happened yet. */
export function newDrill({ recordId, way, scenario, startedAt }: NewDrill): Drill {
  return {
    format: 'utterlog-drill',
    version: 1,
    recordId,
    way,
    scenarioId: scenario.id,
    scenarioTitle: scenario.title,
    startedAt,
    truth: [],
    lines: [],
  };
}

/** The drill of a scenario whose recording began to play at `startMs` of the record. */
export function playedDrill(drill: Drill, scenario: Scenario, startMs: number): Drill {
  const lines = scenario.lines.map(({ atMs, text, says = [] }) => ({ atMs: atMs + startMs, text, says }));
  const said = new Set(lines.flatMap((line) => line.says));
  const truth = scenario.truth.map(({ id, atMs, entry }) => ({
    id,
    atMs: atMs + startMs,
    entry,
    said: said.has(id),
  }));
  return { ...drill, truth, lines };
}

/** The drill as far as its recording was played: what comes after `untilMs` of the record did not happen. */
export function playedUntil(drill: Drill, untilMs: number): Drill {
  const lines = drill.lines.filter((line) => line.atMs < untilMs);
  const said = new Set(lines.flatMap((line) => line.says));
  const truth = drill.truth
    .filter((event) => event.atMs < untilMs)
    .map((event) => ({ ...event, said: said.has(event.id) }));
  return { ...drill, truth, lines };
}

/** Adds a truth event that a facilitator marked, in time order. */
export function markTruth(drill: Drill, event: DrillTruth): Drill {
  return { ...drill, truth: [...drill.truth, event].sort((a, b) => a.atMs - b.atMs) };
}

export function unmarkTruth(drill: Drill, id: string): Drill {
  return { ...drill, truth: drill.truth.filter((event) => event.id !== id) };
}

/** Notes that an event was, or was not, called out; undefined takes the note back. */
export function noteSaid(drill: Drill, id: string, said: boolean | undefined): Drill {
  const truth = drill.truth.map((event) => {
    if (event.id !== id) return event;
    const { said: _said, ...rest } = event;
    return said === undefined ? rest : { ...rest, said };
  });
  return { ...drill, truth };
}
