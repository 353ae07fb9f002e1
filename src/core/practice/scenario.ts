import type { Entry } from '../entry.ts';

/** Something that happens in an invented birth, whether or not anybody says so. */
export interface TruthEvent {
  /** Unique within its scenario. */
  id: string;
  /** Milliseconds since the scenario began. */
  atMs: number;
  entry: Entry;
}

export interface Speaker {
  id: string;
  /** A role of the vocabulary. */
  role: string;
  /** Synthetic voice, accent (espeak-ng's name) and pace; only the bundled recordings need them. */
  voice?: string;
  accent?: string;
  speed?: number;
}

/** Words spoken in the scenario: a call-out, or talk in the room. */
export interface ScriptLine {
  atMs: number;
  /** Speaker's id. */
  speaker: string;
  text: string;
  /** Ids of the truth events that these words call out; absent for talk. */
  says?: string[];
  /** The same words written for the speech synthesiser, where it needs help. */
  spoken?: string;
}

/** An invented birth: what happens when, and what is said. */
export interface Scenario {
  format: 'utterlog-scenario';
  version: 1;
  id: string;
  title: string;
  summary: string;
  /** File in the app's practice folder; bundled scenarios only. */
  recording?: string;
  lengthMs: number;
  speakers: Speaker[];
  /** In time order. */
  truth: TruthEvent[];
  /** In time order. */
  lines: ScriptLine[];
}

/** A new scenario of a unit's own, ready to be written. */
export function emptyScenario(id: string, title: string): Scenario {
  return {
    format: 'utterlog-scenario',
    version: 1,
    id,
    title,
    summary: '',
    lengthMs: 0,
    speakers: [],
    truth: [],
    lines: [],
  };
}

/** The scenario with its events and lines in time order, and a length that holds them all. */
export function tidyScenario(scenario: Scenario): Scenario {
  const byTime = <T extends { atMs: number }>(list: readonly T[]) =>
    [...list].sort((a, b) => a.atMs - b.atMs);
  const truth = byTime(scenario.truth);
  const lines = byTime(scenario.lines);
  const lengthMs = Math.max(scenario.lengthMs, truth.at(-1)?.atMs ?? 0, lines.at(-1)?.atMs ?? 0);
  return { ...scenario, truth, lines, lengthMs };
}
