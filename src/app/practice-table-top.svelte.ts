import { answerTo } from '../core/dialogue/asked.ts';
import { takeIn } from '../core/dialogue/take-in.ts';
import type { QuestionView } from '../core/log/view.ts';
import { markTruth, newDrill, type Drill } from '../core/practice/drill.ts';
import type { Scenario, TruthEvent } from '../core/practice/scenario.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { drills } from '../store/drills.ts';
import { findScenario } from './practice.ts';
import type { RunningRecord } from './running-record.svelte.ts';
import { session } from './session.svelte.ts';

/** A drill without sound: events are told one by one, call-outs are typed into the interpreter. */
export class TableTopDrill {
  /** Null while it is read, undefined where there is none. */
  scenario: Scenario | null | undefined = $state.raw(null);
  record: RunningRecord | null = $state.raw(null);
  /** How many events were told. */
  told = $state(0);
  #drill: Drill | null = null;

  constructor(
    readonly scenarioId: string,
    readonly vocabulary: () => Vocabulary,
  ) {}

  async load(): Promise<void> {
    this.scenario = await findScenario(this.scenarioId);
  }

  get present(): TruthEvent | undefined {
    return this.scenario?.truth[this.told - 1];
  }
  get atEnd(): boolean {
    return this.scenario ? this.told >= this.scenario.truth.length : false;
  }

  /** Tells the next event; with the first one the record begins. It has happened when it is told. */
  async next(): Promise<void> {
    const scenario = this.scenario;
    const event = scenario?.truth[this.told];
    if (!scenario || !event) return;
    this.record ??= await session.begin({ mode: 'practice', scenarioId: scenario.id });
    const { recordId, createdAt } = this.record.file;
    this.#drill ??= newDrill({ recordId, way: 'table-top', scenario, startedAt: createdAt });
    const atMs = this.record.clock.nowMs();
    this.#drill = markTruth(this.#drill, { id: event.id, atMs, entry: event.entry });
    this.told += 1;
    await drills.saveDrill(this.#drill);
  }

  /** @param begunMs record time of the first key: what the onset is for speech. */
  async say(words: string, begunMs: number): Promise<void> {
    const { record } = this;
    if (!record) return;
    const heard = { onsetMs: begunMs, endMs: record.clock.nowMs(), heard: { tuned: { text: words } } };
    const newId = () => crypto.randomUUID();
    await record.append((view) => takeIn(heard, view, this.vocabulary(), newId).bodies, { kind: 'helper' });
  }

  async answer(question: QuestionView, yes: boolean): Promise<void> {
    const { questionId, entries } = question;
    const answered = yes
      ? answerTo(question, entries, () => crypto.randomUUID())
      : [{ kind: 'reject', questionId } as const];
    await this.record?.append(answered, { kind: 'helper' });
  }

  async finish(): Promise<void> {
    const { record } = this;
    if (!record) return;
    const atMs = record.clock.nowMs();
    await record.append((view) => (view.finishedAtMs === null ? [{ kind: 'finish', atMs }] : []), {
      kind: 'helper',
    });
  }

  close(): void {
    if (this.record) void session.release(this.record.recordId);
  }
}
