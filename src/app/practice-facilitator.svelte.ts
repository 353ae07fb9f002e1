import { markTruth, noteSaid, unmarkTruth, type Drill, type DrillTruth } from '../core/practice/drill.ts';
import type { Scenario, TruthEvent } from '../core/practice/scenario.ts';
import type { Entry } from '../core/entry.ts';
import { drills } from '../store/drills.ts';
import { findScenario } from './practice.ts';
import { RunningRecord } from './running-record.svelte.ts';
import { askClock } from './windows.ts';

const ASK_EVERY_MS = 500;

export type FacilitatorState =
  /** The team's screen does not answer yet: without its clock no time can be marked. */
  { kind: 'waiting' } | { kind: 'ready'; record: RunningRecord } | { kind: 'missing' };

/** The facilitator's window of a live drill: the truth is marked by touch on the team's clock. */
export class Facilitator {
  state: FacilitatorState = $state.raw({ kind: 'waiting' });
  drill: Drill | null = $state.raw(null);
  scenario: Scenario | null = $state.raw(null);
  /** False where the device did not keep the last mark. */
  kept = $state(true);
  #closed = false;

  constructor(readonly recordId: string) {}

  /** Waits for the team's screen and takes its clock. */
  async open(): Promise<void> {
    const drill = await drills.readDrill(this.recordId);
    if (!drill) {
      this.state = { kind: 'missing' };
      return;
    }
    this.drill = drill;
    this.scenario = (await findScenario(drill.scenarioId)) ?? null;
    while (!this.#closed && !(await askClock(this.recordId, ASK_EVERY_MS)));
    if (this.#closed) return;
    const outcome = await RunningRecord.open(this.recordId);
    if (outcome.kind !== 'open') this.state = { kind: 'missing' };
    else if (this.#closed) outcome.record.close();
    else this.state = { kind: 'ready', record: outcome.record };
  }

  /** Events of the scenario that were not marked yet, in their order. */
  get toCome(): TruthEvent[] {
    const marked = new Set(this.drill?.truth.map((event) => event.id));
    return this.scenario?.truth.filter((event) => !marked.has(event.id)) ?? [];
  }

  /** Marks that something happens at this moment. */
  async mark(entry: Entry, id: string = crypto.randomUUID()): Promise<void> {
    if (this.state.kind !== 'ready' || !this.drill) return;
    const atMs = this.state.record.clock.nowMs();
    await this.#keep(markTruth(this.drill, { id, atMs, entry }));
  }

  takeBack = (event: DrillTruth): Promise<void> => this.#keep(unmarkTruth(this.drill!, event.id));
  said = (event: DrillTruth, said: boolean | undefined): Promise<void> =>
    this.#keep(noteSaid(this.drill!, event.id, said));

  async #keep(drill: Drill): Promise<void> {
    this.drill = drill;
    this.kept = (await drills.saveDrill(drill)).kind === 'ok';
  }

  /** Ends the drill for both windows. */
  async finish(): Promise<void> {
    if (this.state.kind !== 'ready') return;
    const { record } = this.state;
    const atMs = record.clock.nowMs();
    await record.append((view) => (view.finishedAtMs === null ? [{ kind: 'finish', atMs }] : []), {
      kind: 'facilitator',
    });
  }

  close(): void {
    this.#closed = true;
    if (this.state.kind === 'ready') this.state.record.close();
  }
}
