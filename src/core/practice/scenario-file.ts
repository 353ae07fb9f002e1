import { Validator, type Schema } from '@cfworker/json-schema';
import type { Entry } from '../entry.ts';
import type { SlotName, Vocabulary } from '../vocabulary/vocabulary.ts';
import { tidyScenario, type Scenario } from './scenario.ts';
import schema from './scenario.schema.json' with { type: 'json' };

/** `place` points into the file, e.g. "truth[3].entry.side"; empty where the file as a whole is meant. */
export type ScenarioRefusal = { kind: 'refused'; sentence: string; place: string };
export type ScenarioOutcome = { kind: 'ok'; scenario: Scenario } | ScenarioRefusal;

const KEPT = 'Nothing was imported and the scenarios on this device are unchanged.';
const refuse = (what: string, next: string, place = ''): ScenarioRefusal => ({
  kind: 'refused',
  sentence: `${what} ${KEPT} ${next}`,
  place,
});

/** The text of a scenario file, for passing on to another device or unit. */
export function exportScenario(scenario: Scenario): string {
  return JSON.stringify(tidyScenario(scenario), null, 2) + '\n';
}

/** Reads a scenario file. A file with any fault is refused as a whole, with the place of the first one. */
export function importScenario(text: string, vocabulary: Vocabulary): ScenarioOutcome {
  let read: unknown;
  try {
    read = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch {
    return refuse('The file is not JSON.', 'Choose a scenario file that this app exported.');
  }
  if ((read as { format?: unknown } | null)?.format !== 'utterlog-scenario')
    return refuse(
      'The file is not a practice scenario.',
      'Choose a scenario file that this app exported.',
      'format',
    );
  if ((read as { version?: unknown }).version !== 1)
    return refuse(
      'The file comes from a later version of the app.',
      'Update the app and import it again.',
      'version',
    );
  const result = new Validator(schema as Schema, '2020-12', false).validate(read);
  if (!result.valid) {
    const place = placeOf(result.errors.at(-1)?.instanceLocation ?? '#');
    return refuse(
      `The scenario has a value of the wrong kind at ${place || 'its top'}.`,
      'Correct the file at that place and import it again.',
      place,
    );
  }
  const scenario = tidyScenario(read as Scenario);
  const fault = scenarioFaults(scenario, vocabulary)[0];
  if (fault)
    return refuse(`${fault.sentence}`, 'Correct the file at that place and import it again.', fault.place);
  return { kind: 'ok', scenario };
}

/** "#/truth/3/entry" → "truth[3].entry". */
const placeOf = (pointer: string): string =>
  pointer
    .replace(/^#\/?/, '')
    .replace(/\/(\d+)/g, '[$1]')
    .replace(/\//g, '.');

export interface ScenarioFault {
  sentence: string;
  place: string;
}

/** What stands in the way of using the scenario: unknown codes, slots that do not fit, ids used twice. */
export function scenarioFaults(scenario: Scenario, vocabulary: Vocabulary): ScenarioFault[] {
  const faults: ScenarioFault[] = [];
  if (scenario.truth.length === 0)
    faults.push({
      sentence: 'The scenario holds no event, so there is nothing to compare with.',
      place: 'truth',
    });
  const ids = new Set<string>();
  scenario.truth.forEach((event, at) => {
    if (ids.has(event.id))
      faults.push({ sentence: `The event id "${event.id}" is used twice.`, place: `truth[${at}].id` });
    ids.add(event.id);
    const why = entryFault(event.entry, vocabulary);
    if (why) faults.push({ sentence: why.sentence, place: `truth[${at}].entry.${why.slot}` });
  });
  const speakers = new Set(scenario.speakers.map((speaker) => speaker.id));
  scenario.lines.forEach((line, at) => {
    if (!speakers.has(line.speaker))
      faults.push({
        sentence: `The speaker "${line.speaker}" is not in the list of speakers.`,
        place: `lines[${at}].speaker`,
      });
    const unknown = line.says?.find((id) => !ids.has(id));
    if (unknown !== undefined)
      faults.push({ sentence: `There is no event with the id "${unknown}".`, place: `lines[${at}].says` });
  });
  return faults;
}

/** Why an entry is none of the vocabulary's, or null. */
export function entryFault(entry: Entry, vocabulary: Vocabulary): { sentence: string; slot: string } | null {
  const info = vocabulary.codes.get(entry.code);
  if (!info) return { sentence: `The code "${entry.code}" is not in the vocabulary.`, slot: 'code' };
  if (entry.phase !== undefined && !info.phases.includes(entry.phase))
    return { sentence: `"${info.label}" has no phase "${entry.phase}".`, slot: 'phase' };
  const missing = info.required.find((slot) => entry[slot] === undefined);
  if (missing) return { sentence: `"${info.label}" needs its ${missing}.`, slot: missing };
  const slots = Object.keys(entry).filter((slot) => slot !== 'code' && slot !== 'phase');
  const foreign = slots.find((slot) => !info.slots.includes(slot as SlotName));
  if (foreign) return { sentence: `"${info.label}" has no ${foreign}.`, slot: foreign };
  const { role } = entry;
  if (role !== undefined && !vocabulary.roles.some((known) => known.role === role))
    return { sentence: `The role "${role}" is not in the vocabulary.`, slot: 'role' };
  return null;
}
