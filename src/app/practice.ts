import { foldRecord } from '../core/log/fold.ts';
import type { RecordView } from '../core/log/view.ts';
import { BUNDLED_SCENARIOS, PRACTICE_EMERGENCY } from '../packs/scenarios.ts';
import type { Debrief } from '../core/practice/debrief-types.ts';
import { debrief } from '../core/practice/debrief.ts';
import { newDrill, playedDrill, type Drill, type DrillWay } from '../core/practice/drill.ts';
import type { Scenario } from '../core/practice/scenario.ts';
import { trendPoint, type TrendPoint } from '../core/practice/trends.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { drills } from '../store/drills.ts';
import { deleteRecord, listRecords, readRecord, type RecordSummary } from '../store/records.ts';
import type { RunningRecord } from './running-record.svelte.ts';
import { session } from './session.svelte.ts';

/** A scenario with the address of its recording, ready to be played. */
export interface PlayableScenario {
  scenario: Scenario;
  recordingUrl: string;
}

/** What the one button plays. */
export const practiceEmergency = (): PlayableScenario => playable(PRACTICE_EMERGENCY)!;

/** Null where the scenario has no recording: only bundled ones have. */
export function playable(scenario: Scenario): PlayableScenario | null {
  return scenario.recording === undefined
    ? null
    : { scenario, recordingUrl: new URL(`practice/${scenario.recording}`, document.baseURI).href };
}

/** Bundled ones first, then the unit's own by title. */
export async function allScenarios(): Promise<{ bundled: readonly Scenario[]; own: Scenario[] }> {
  const own = (await drills.listScenarios()).sort((a, b) => a.title.localeCompare(b.title));
  return { bundled: BUNDLED_SCENARIOS, own };
}

export async function findScenario(id: string): Promise<Scenario | undefined> {
  return BUNDLED_SCENARIOS.find((scenario) => scenario.id === id) ?? (await drills.readScenario(id));
}

/** Whether the recording can be had just now; a drill is not begun without it. */
export async function reachable({ recordingUrl }: PlayableScenario): Promise<boolean> {
  return fetch(recordingUrl).then(
    (response) => response.ok,
    () => false,
  );
}

/** Begins a drill: a practice record, and the truth beside it. */
export async function beginDrill(scenario: Scenario, way: DrillWay): Promise<RunningRecord> {
  const record = await session.begin({ mode: 'practice', scenarioId: scenario.id });
  const { recordId, createdAt } = record.file;
  await drills.saveDrill(newDrill({ recordId, way, scenario, startedAt: createdAt }));
  return record;
}

/**
 * Begins a drill and plays its recording through the path that the microphone uses. `started` resolves when it
 * plays (the speech model is loaded first) and rejects with a sentence where the recording cannot be had.
 */
export async function playDrill({
  scenario,
  recordingUrl,
}: PlayableScenario): Promise<{ record: RunningRecord; started: Promise<void> }> {
  const record = await beginDrill(scenario, 'recording');
  const started = session.hearRecording(record, recordingUrl, scenario.title).then(async (listening) => {
    const { recordingBeganMs } = listening;
    if (recordingBeganMs !== null) await noteRecordingPlayed(record.recordId, scenario, recordingBeganMs);
  });
  return { record, started };
}

/** Notes when a recording began to play, in ms of the record's clock: from it and the script comes the truth. */
async function noteRecordingPlayed(recordId: string, scenario: Scenario, beganMs: number): Promise<void> {
  const drill = await drills.readDrill(recordId);
  if (drill) await drills.saveDrill(playedDrill(drill, scenario, beganMs));
}

export type DebriefOutcome =
  | { kind: 'ok'; drill: Drill; view: RecordView; debrief: Debrief }
  | { kind: 'no-drill' }
  | { kind: 'missing' | 'locked' | 'damaged' | 'unreadable' };

export async function openDebrief(recordId: string, vocabulary: Vocabulary): Promise<DebriefOutcome> {
  const drill = await drills.readDrill(recordId);
  if (!drill) return { kind: 'no-drill' };
  const outcome = await readRecord(recordId);
  if (outcome.kind !== 'ok' && outcome.kind !== 'held') return { kind: outcome.kind };
  const view = foldRecord(outcome.file);
  return { kind: 'ok', drill, view, debrief: debrief(drill, view, vocabulary) };
}

export interface DrillInList {
  drill: Drill;
  summary: RecordSummary;
}

/** Drills whose record is still here, newest first. */
export async function listDrills(): Promise<DrillInList[]> {
  const [all, { records }] = await Promise.all([drills.listDrills(), listRecords()]);
  const byId = new Map(records.map((summary) => [summary.recordId, summary]));
  return all
    .flatMap((drill) => {
      const summary = byId.get(drill.recordId);
      return summary ? [{ drill, summary }] : [];
    })
    .sort((a, b) => Date.parse(b.drill.startedAt) - Date.parse(a.drill.startedAt));
}

/** Deletes a drill and its practice record. */
export async function deleteDrill(recordId: string): Promise<boolean> {
  const record = await deleteRecord(recordId);
  return record.kind === 'ok' && (await drills.deleteDrill(recordId)).kind === 'ok';
}

/** Every drill that can be read and in which something happened. */
export async function trendPoints(vocabulary: Vocabulary): Promise<TrendPoint[]> {
  const points: TrendPoint[] = [];
  for (const drill of await drills.listDrills()) {
    const outcome = await openDebrief(drill.recordId, vocabulary);
    if (outcome.kind === 'ok' && outcome.debrief.events.length > 0) points.push(trendPoint(outcome.debrief));
  }
  return points;
}
