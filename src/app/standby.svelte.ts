import type { SpeechClient } from '../asr/client.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { foldRecord } from '../core/log/fold.ts';
import type { EventBody } from '../core/log/events.ts';
import { takeIn, worthAgain, type HeardUtterance } from '../core/dialogue/take-in.ts';
import {
  meaningInStandby,
  STANDING_BY,
  stepStandby,
  type Standby,
  type StandbyEvent,
} from '../core/standby/standby.ts';
import { recordedElsewhere } from '../store/recorded-here.ts';
import type { Listening } from './listening.svelte.ts';
import type { RunningRecord } from './running-record.svelte.ts';
import { holdRunning } from './running-lock.ts';
import { session } from './session.svelte.ts';
import { settings } from './settings.svelte.ts';

const LOCK = 'utterlog standby';
const TICK_MS = 5_000;
/** Sound comes in blocks of some 30 ms; where none came for so long, nothing was heard meanwhile. */
const SILENT_MS = 3_000;

/** A record without an event, for what a call-out means where there is none yet. */
const NOTHING = foldRecord({
  ...createRecordFile({ recordId: '', mode: 'real', wallMs: 0, createdAt: '', timeZone: 'UTC' }),
  events: [],
});

/** A stretch in which standby did not listen; ms since 1970 UTC. `toMs` null: it goes on. */
export interface Deafness {
  fromMs: number;
  toMs: number | null;
}

/**
 * Standby in this window: the microphone is heard, nothing is kept, and a call-out or a touch begins a record that
 * goes on with the same hearing, so that nothing said meanwhile is lost.
 */
export class StandbyRun {
  state: Standby = $state.raw(STANDING_BY);
  listening: Listening = $state.raw()!;
  /** A sentence where the record could not be made. */
  trouble = $state('');
  /** Another window of this device has a record running. */
  recordElsewhere = $state(false);
  /** The last stretch in which the device slept or the browser held the page back. */
  deafness: Deafness | null = $state.raw(null);
  /** Something was said lately that could not be recognised; ms since 1970 UTC. */
  unheardAtMs: number | null = $state(null);
  readonly #mode: 'real' | 'practice';
  readonly #sinceMs = performance.now();
  readonly #begun: (record: RunningRecord) => void;
  #release: () => void = () => {};
  #timer: ReturnType<typeof setInterval> | undefined;
  #lastTickMs = Date.now();
  #over = false;
  #made = false;

  private constructor(mode: 'real' | 'practice', begun: (record: RunningRecord) => void) {
    this.#mode = mode;
    this.#begun = begun;
  }

  /** Stands by from now on. Null where another window of this device does already: one is enough. */
  static async start(
    mode: 'real' | 'practice',
    begun: (record: RunningRecord) => void,
    open: SpeechClient | null = null,
  ): Promise<StandbyRun | null> {
    const run = new StandbyRun(mode, begun);
    if (!(await run.#take())) return null;
    run.listening = session.standBy({
      heard: (utterance) => run.#heard(utterance),
      worth: (utterance) => worthAgain(utterance, NOTHING, session.vocabulary),
      unheard: () => (run.unheardAtMs = Date.now()),
    });
    void session.openMicrophone(run.listening, open);
    run.#timer = setInterval(() => run.#tick(), TICK_MS);
    run.#tick();
    return run;
  }

  #take(): Promise<boolean> {
    const released = holdRunning();
    const held = new Promise<void>((resolve) => {
      this.#release = () => {
        released();
        resolve();
      };
    });
    if (!navigator.locks) return Promise.resolve(true);
    return new Promise((answer) => {
      void navigator.locks.request(LOCK, { ifAvailable: true }, (lock) => {
        answer(lock !== null);
        if (lock === null) released();
        return lock === null ? undefined : held;
      });
    });
  }

  #step(event: StandbyEvent): void {
    this.state = stepStandby(this.state, event, performance.now());
  }

  /** The stretches without sound are told until standby ends: what was said in them was not heard. */
  #watchSound(): void {
    const { state, lastSoundMs } = this.listening;
    const now = Date.now();
    const silent = state.kind === 'listening' && lastSoundMs > 0 && now - lastSoundMs > SILENT_MS;
    if (silent) this.deafness = { fromMs: lastSoundMs, toMs: null };
    else if (this.deafness?.toMs === null) this.deafness = { ...this.deafness, toMs: now };
    else if (now - this.#lastTickMs > TICK_MS + SILENT_MS && lastSoundMs < this.#lastTickMs)
      this.deafness = { fromMs: this.#lastTickMs, toMs: now };
    this.#lastTickMs = now;
  }

  #tick(): void {
    this.#watchSound();
    this.#step({ kind: 'tick' });
    void recordedElsewhere().then((elsewhere) => (this.recordElsewhere = elsewhere));
  }

  #heard(utterance: HeardUtterance): void {
    const was: Standby['kind'] = this.state.kind;
    this.#step({
      kind: 'heard',
      utterance,
      meaning: meaningInStandby(utterance, NOTHING, session.vocabulary),
    });
    if (was !== this.state.kind) void this.#begin();
  }

  /** Begins the record by a touch. */
  begin(): void {
    if (this.state.kind === 'begun') return;
    this.#step({ kind: 'touch' });
    void this.#begin();
  }

  async #begin(): Promise<void> {
    if (this.state.kind !== 'begun' || this.#over) return;
    const { by, held } = this.state;
    this.trouble = '';
    try {
      const zeroMs = Math.min(performance.now(), ...held.map(({ onsetMs }) => onsetMs));
      const record = await session.begin({
        mode: this.#mode,
        zeroMs,
        standby: { by, sinceMs: Math.round(this.#sinceMs - zeroMs) },
      });
      this.#made = true;
      const { roomClock } = settings.now;
      if (roomClock) await record.append([{ kind: 'clock-offset', ...roomClock }], { kind: 'system' });
      await this.#handOver(record);
      session.goOnWith(record, this.listening);
      this.#finish();
      this.#begun(record);
    } catch (error) {
      this.trouble = error instanceof Error ? error.message : String(error);
      if (!this.#made) this.#step({ kind: 'refused' });
    }
  }

  /** What was heard before the record goes into it in its order; what is said meanwhile comes after. */
  async #handOver(record: RunningRecord): Promise<void> {
    for (let [next] = this.state.held; next; [next] = this.state.held) {
      const utterance = next;
      const { clock } = record;
      const placed = {
        ...utterance,
        onsetMs: clock.atPerformanceMs(utterance.onsetMs),
        endMs: clock.atPerformanceMs(utterance.endMs),
      };
      const added = record.append(
        (view) => {
          const { bodies } = takeIn(placed, view, session.vocabulary, () => crypto.randomUUID());
          return bodies.map((body): EventBody =>
            body.kind === 'utterance' ? { ...body, inStandby: true } : body,
          );
        },
        { kind: 'voice' },
      );
      await added.catch((error: unknown) => (this.trouble = String(error)));
      this.#step({ kind: 'taken', utterance });
    }
    this.listening.recordInto(record);
  }

  #finish(): void {
    this.#over = true;
    clearInterval(this.#timer);
    this.#release();
  }

  /** Ends standby: nothing is heard any more, and what was held is gone. A record that was begun goes on. */
  async end(): Promise<void> {
    if (this.#over || this.state.kind === 'begun') return;
    this.#finish();
    this.state = STANDING_BY;
    await this.listening.stop();
  }
}
