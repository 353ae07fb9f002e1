import type { Entry } from '../../core/entry.ts';
import { emptyScenario, tidyScenario, type Scenario, type TruthEvent } from '../../core/practice/scenario.ts';

/** "own-1a2b3c4d": the id of a new scenario. */
export const newScenario = (): Scenario => emptyScenario(`own-${crypto.randomUUID().slice(0, 8)}`, '');

/** Adds an event after the last one, at the same time. */
export function addEvent(scenario: Scenario, entry: Entry): Scenario {
  const atMs = scenario.truth.at(-1)?.atMs ?? 0;
  return { ...scenario, truth: [...scenario.truth, { id: crypto.randomUUID(), atMs, entry }] };
}

export function changeEvent(scenario: Scenario, changed: TruthEvent): Scenario {
  const truth = scenario.truth.map((event) => (event.id === changed.id ? changed : event));
  return { ...scenario, truth };
}

/** Takes the event out, and out of what the lines call out. */
export function removeEvent(scenario: Scenario, id: string): Scenario {
  const lines = scenario.lines.map((line) =>
    line.says ? { ...line, says: line.says.filter((said) => said !== id) } : line,
  );
  return { ...scenario, truth: scenario.truth.filter((event) => event.id !== id), lines };
}

/** Ready to be kept: in time order, as long as its last event. */
export const finished = (scenario: Scenario): Scenario =>
  tidyScenario({ ...scenario, title: scenario.title.trim(), lengthMs: 0 });
