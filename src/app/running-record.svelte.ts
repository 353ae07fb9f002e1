import { passGate } from '../core/log/after-signing.ts';
import { isoWithOffset } from '../core/log/clock.ts';
import type { Author, ClockSpan, EventBody, LogEvent, RecordFile } from '../core/log/events.ts';
import { foldRecord } from '../core/log/fold.ts';
import { arranged, sealInRecord } from '../core/log/lanes.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import type { RecordView } from '../core/log/view.ts';
import { signed } from '../store/device-key.ts';
import { holdRecording } from '../store/recorded-here.ts';
import {
  appendEvents,
  createRecord,
  deviceWriter,
  ensureKept,
  onKeeping,
  onLost,
  readRecord,
  type StorageProblem,
} from '../store/records.ts';
import { ClockCompare, PARTED_MS } from './clock-compare.ts';
import { VERSIONS } from './versions.ts';
import { clockFrom, continuedSpan, type RecordClock } from './record-clock.ts';
import { holdRunning } from './running-lock.ts';
import { askClock, openWindowChannel, type WindowMessage } from './windows.ts';

/** Where the record is kept just now. `memory`: in this window only; the person is told and offered a download. */
export type Keeping = { kind: 'device' } | { kind: 'memory'; why: StorageProblem };

export type OpenOutcome =
  | { kind: 'open'; record: RunningRecord }
  | { kind: 'missing' }
  | { kind: 'locked' }
  | { kind: 'damaged' }
  | { kind: 'unreadable'; why: StorageProblem };

/** What to do with the bodies once the latest state of the record is known, inside the write's lock. */
export type MakeBodies = (view: RecordView) => EventBody[];

const CLOCK_ANSWER_MS = 400;
const CATCH_UPS = 10;
/** Two windows notice one sleep within so much of each other: a window in the background looks once a minute. */
const SAME_PARTING_MS = 90_000;
/** How often an open record is looked for on the device; a browser does not always tell that it was cleared. */
const LOOK_EVERY_MS = 2_000;

/** The record is signed: these events need the reason of an amendment first. Nothing was added. */
export class NeedsReason extends Error {
  constructor(readonly bodies: EventBody[]) {
    super('The record is signed. Give the reason of the change; nothing was changed yet.');
  }
}

/** The record cannot be written any more; what this window shows can still be exported. */
export class RecordGone extends Error {
  constructor(readonly why: 'missing' | 'locked' | 'damaged') {
    super(
      why === 'locked'
        ? 'The record was locked in another window. Unlock it with its passphrase to go on.'
        : 'The record is no longer whole on this device. What is on the screen can still be exported.',
    );
  }
}

/**
 * One open record in this window: its events, their fold, and the only way to add to it. An event is on
 * the device before `view` shows it; other windows of the same record are told and follow.
 */
export class RunningRecord {
  file: RecordFile = $state.raw()!;
  keeping: Keeping = $state.raw({ kind: 'device' });
  /** ISO 8601: when the device had lost the record and this window wrote it back; null where that never happened. */
  broughtBackAt: string | null = $state(null);
  readonly view: RecordView = $derived(foldRecord(this.file));
  clock: RecordClock;
  readonly #letGo: () => void;
  readonly #channel: { send: (message: WindowMessage) => void; close: () => void };

  private constructor(file: RecordFile, clock: RecordClock, keeping: Keeping) {
    this.file = file;
    this.clock = clock;
    this.keeping = keeping;
    this.#channel = openWindowChannel((message) => this.#receive(message));
    const released = this.view.finishedAtMs === null ? holdRunning() : () => {};
    this.#holdWhileRunning();
    const unwatched = onKeeping(({ held }) => this.#follow(held.includes(this.recordId)));
    const look = () => {
      void this.#lookForIt();
      void this.#compareClocks().catch(() => {});
    };
    const looking = setInterval(look, LOOK_EVERY_MS);
    const unlost = onLost(look);
    this.#letGo = () => {
      clearInterval(looking);
      unlost();
      released();
      this.#recording?.();
      unwatched();
    };
  }

  /** Set while the record runs here: another window can neither lock nor delete it. */
  #recording: (() => void) | null = null;

  #holdWhileRunning(): void {
    const running = this.view.finishedAtMs === null;
    if (running) this.#recording ??= holdRecording(this.recordId);
    else {
      this.#recording?.();
      this.#recording = null;
    }
  }

  readonly #clocks = new ClockCompare(Date.now(), performance.now());

  /** Says it in the log where the device slept or its clock was set; another window may have said it. */
  async #compareClocks(): Promise<void> {
    const parting = this.#clocks.parted(Date.now(), performance.now());
    if (!parting || this.#unwrittenSpan || this.view.finishedAtMs !== null) return;
    const sinceMs = this.clock.atPerformanceMs(parting.sincePerformanceMs);
    const atMs = this.clock.nowMs();
    const { byMs } = parting;
    await this.#write(
      (view) => {
        const told = view.interruptions.some(
          (gap) =>
            gap.kind === 'clocks-parted' &&
            Math.abs((gap.byMs ?? 0) - byMs) < PARTED_MS &&
            Math.abs((gap.toMs ?? 0) - atMs) < SAME_PARTING_MS,
        );
        return told ? [] : [{ kind: 'clocks-parted', sinceMs, atMs, byMs }];
      },
      { kind: 'system' },
    );
  }

  /** Also an idle window notices that its record went from the device, writes it back and says so. */
  async #lookForIt(): Promise<void> {
    const found = await ensureKept(this.recordId).catch(() => 'unknown' as const);
    if (found === 'brought-back') this.broughtBackAt = isoWithOffset(this.file.timeZone, Date.now());
    else if (found === 'held' && this.keeping.kind === 'device')
      this.keeping = { kind: 'memory', why: 'storage-gone' };
  }

  /** The device keeps again what was held in memory, perhaps behind another window's events. */
  #follow(held: boolean): void {
    if (held || this.keeping.kind === 'device') return;
    this.keeping = { kind: 'device' };
    void this.reread();
  }

  get recordId(): string {
    return this.file.recordId;
  }

  /** Begins a record at this moment, or with its time 0 at an earlier one of performance.now()'s clock: `zeroMs`. */
  static async begin({
    zeroMs,
    ...options
  }: {
    mode: 'real' | 'practice';
    reference?: string;
    scenarioId?: string;
    standby?: { by: 'voice' | 'touch'; sinceMs: number };
    zeroMs?: number;
  }): Promise<RunningRecord> {
    const nowMs = performance.now();
    const performanceMs = zeroMs ?? nowMs;
    const [atMs, nowWallMs] = [nowMs - performanceMs, Date.now()];
    const wallMs = nowWallMs - Math.round(atMs);
    const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const device = await deviceWriter();
    const made = createRecordFile({
      ...options,
      recordId: crypto.randomUUID(),
      wallMs,
      createdAt: isoWithOffset(timeZone, wallMs),
      timeZone,
      made: { atMs, at: isoWithOffset(timeZone, nowWallMs) },
      madeWith: VERSIONS,
      writer: device.writer,
    });
    const file = { ...made, events: await signed(made.events, device) };
    const outcome = await createRecord(file);
    const keeping: Keeping =
      outcome.kind === 'held' ? { kind: 'memory', why: outcome.why } : { kind: 'device' };
    return new RunningRecord(file, clockFrom(0, performanceMs), keeping);
  }

  /**
   * Takes up a kept record. Where another window has it open, that window's clock is followed; else,
   * unless it is only looked at, a new clock span begins and the log says so.
   */
  static async open(recordId: string): Promise<OpenOutcome> {
    const outcome = await readRecord(recordId);
    if (outcome.kind !== 'ok' && outcome.kind !== 'held') return outcome;
    const { file } = outcome;
    const keeping: Keeping =
      outcome.kind === 'held' ? { kind: 'memory', why: outcome.why } : { kind: 'device' };
    const performanceMs = performance.now();
    const span = continuedSpan(file.spans, lastKnown(file), Date.now());
    const record = new RunningRecord(file, clockFrom(span.startMs, performanceMs), keeping);
    record.#unwrittenSpan = span;
    if (record.view.finishedAtMs === null) await record.#takeUp();
    return { kind: 'open', record };
  }

  /** A finished record is only looked at until somebody adds to it: then its clock is followed or begun anew. */
  #unwrittenSpan: ClockSpan | null = null;

  #takingUp: Promise<void> | undefined;

  /** What is added meanwhile waits for the clock. */
  #takeUp(): Promise<void> {
    this.#takingUp ??= this.#settleClock().catch((error: unknown) => {
      this.#takingUp = undefined;
      throw error;
    });
    return this.#takingUp;
  }

  async #settleClock(): Promise<void> {
    const span = this.#unwrittenSpan;
    if (!span) return;
    const answer =
      (await askClock(this.recordId, CLOCK_ANSWER_MS)) ?? (await RunningRecord.clockElsewhere(this.recordId));
    if (answer) this.clock = clockFrom(answer.recordMs, answer.performanceMs);
    else await this.#continueIn(span);
    this.#unwrittenSpan = null;
  }

  #continueIn(span: ClockSpan): Promise<LogEvent[]> {
    const continued: EventBody = {
      kind: 'continued',
      spanId: span.spanId,
      atMs: span.startMs,
      wallMs: span.wallMs,
      gapKnownFrom: 'device-clock',
    };
    return this.#write(() => [continued], { kind: 'system' }, span);
  }

  /**
   * Adds events. They are on the device (or, where that fails, held and told so) when this resolves.
   * @param bodies the events, or a function of the newest view that makes them.
   */
  append(bodies: EventBody[] | MakeBodies, by: Author): Promise<LogEvent[]> {
    const appended = this.#append(bodies, by);
    this.#appending.add(appended);
    const over = () => this.#appending.delete(appended);
    appended.then(over, over);
    return appended;
  }

  readonly #appending = new Set<Promise<unknown>>();

  /** Resolves when nothing is being added any more: a screen that is left must not close a record under a write. */
  async settled(): Promise<void> {
    while (this.#appending.size > 0) await Promise.allSettled(this.#appending);
  }

  async #append(bodies: EventBody[] | MakeBodies, by: Author): Promise<LogEvent[]> {
    const make = typeof bodies === 'function' ? bodies : () => bodies;
    // A finished record that is only looked at stays as it is: no new clock span for what adds nothing.
    if (this.#unwrittenSpan && this.view.finishedAtMs !== null) {
      const passed = passGate(make(this.view), by, this.view);
      if (passed.kind === 'needs-reason') throw new NeedsReason(passed.bodies);
      if (passed.bodies.length === 0) return [];
    }
    await this.#takeUp();
    // What is added after a sleep must not come before the word about it.
    await this.#compareClocks();
    return this.#write(make, by);
  }

  /** Where another window has written since, this one catches up first, so that `make` sees the newest view. */
  async #write(make: MakeBodies, by: Author, span?: ClockSpan): Promise<LogEvent[]> {
    if (this.readOnly)
      throw new Error(
        'This screen only shows the record. Nothing was added; use a device that was let in to write.',
      );
    const device = await deviceWriter();
    this.#lane = device.writer.lane;
    for (let attempt = 1; attempt <= CATCH_UPS; attempt++) {
      let behind = false;
      let refused = null as EventBody[] | null;
      const outcome = await appendEvents(
        this.recordId,
        (last) => {
          const seen = this.file.events[this.file.events.length - 1];
          behind = (last?.seq ?? -1) > (seen?.seq ?? -1);
          if (behind) return [];
          const madeAt = isoWithOffset(this.file.timeZone, Date.now());
          const passed = passGate(make(this.view), by, this.view);
          refused = passed.kind === 'needs-reason' ? passed.bodies : null;
          const { writer } = device;
          const made = { by, madeAtMs: this.clock.nowMs(), madeAt, writer };
          return signed(sealInRecord(this.file.events, refused ? [] : passed.bodies, made), device);
        },
        span,
      );
      if (outcome.kind !== 'ok' && outcome.kind !== 'held') throw new RecordGone(outcome.kind);
      if (behind) {
        await this.reread();
        continue;
      }
      if (refused) throw new NeedsReason(refused);
      this.keeping = outcome.kind === 'held' ? { kind: 'memory', why: outcome.why } : { kind: 'device' };
      this.#take(outcome.events, span);
      this.#channel.send({ kind: 'appended', recordId: this.recordId, events: outcome.events });
      for (const listener of this.#written) listener();
      return outcome.events;
    }
    throw new Error(
      'Other windows write to this record without pause; this entry was not added. Please add it again.',
    );
  }

  /** A wall screen: shows the record and adds nothing to it. */
  readOnly = false;
  #lane: string | null = null;
  readonly #written = new Set<() => void>();

  /** Calls back when this window has added something, and when other windows or devices have. */
  onWritten(listener: () => void): () => void {
    this.#written.add(listener);
    return () => this.#written.delete(listener);
  }

  /** Where this record's clock can be asked for when no other window of this device has it: other devices. */
  static clockElsewhere: (recordId: string) => Promise<{ recordMs: number; performanceMs: number } | null> =
    async () => null;

  /** False until this window has the record's clock: others must not take theirs from it. */
  get clockSettled(): boolean {
    return this.#unwrittenSpan === null;
  }

  /**
   * Takes in events of other devices, each of which follows from what is here. They are on this device when it
   * resolves, and in `view` at their place. Known ones are passed over.
   */
  async takeIn(foreign: readonly LogEvent[]): Promise<void> {
    for (let attempt = 1; attempt <= CATCH_UPS; attempt++) {
      let behind = false;
      const outcome = await appendEvents(this.recordId, (last) => {
        const { events } = this.file;
        behind = (last?.seq ?? -1) > events.length - 1;
        if (behind) return [];
        const known = new Set(events.map(({ hash }) => hash));
        const fresh = foreign.filter(({ hash }) => !known.has(hash));
        return fresh.map((event, at) => ({ ...event, seq: events.length + at }));
      });
      if (outcome.kind !== 'ok' && outcome.kind !== 'held') throw new RecordGone(outcome.kind);
      if (behind) {
        await this.reread();
        continue;
      }
      this.keeping = outcome.kind === 'held' ? { kind: 'memory', why: outcome.why } : { kind: 'device' };
      if (outcome.events.length === 0) return;
      this.#take(outcome.events);
      this.#channel.send({ kind: 'appended', recordId: this.recordId, events: outcome.events });
      return;
    }
    throw new Error('Other windows write to this record without pause; what came from other devices waits.');
  }

  #take(events: LogEvent[], span?: ClockSpan): boolean {
    const { file } = this;
    const count = file.events.length;
    const fresh = events.filter((event) => event.seq >= count);
    if (fresh.length === 0 && !span) return true;
    if (fresh.length > 0 && fresh[0]!.seq !== count) return false;
    const next = {
      ...file,
      spans: span ? [...file.spans, span] : file.spans,
      events: [...file.events, ...fresh],
    };
    // What this device writes comes behind all that it knows; another device's events may belong further up.
    const own = fresh.every(({ lane }) => lane !== undefined && lane === this.#lane);
    this.file = own ? next : arranged(next);
    this.#holdWhileRunning();
    return true;
  }

  #receive(message: WindowMessage): void {
    if (message.recordId !== this.recordId) return;
    if (message.kind === 'clock-wanted') {
      // A clock that is not in the log yet is nobody's to follow.
      if (this.#unwrittenSpan) return;
      this.#channel.send({ kind: 'clock', recordId: this.recordId, recordMs: this.clock.nowMs() });
    } else if (message.kind === 'appended') {
      const continued = message.events.some((event) => event.kind === 'continued');
      if (continued || !this.#take(message.events)) void this.reread();
      for (const listener of this.#written) listener();
    }
  }

  /** Reads the record from the device again, after a gap in what the other windows told. */
  async reread(): Promise<void> {
    const outcome = await readRecord(this.recordId);
    if (outcome.kind === 'ok' && outcome.file.events.length >= this.file.events.length)
      this.file = outcome.file;
    this.#holdWhileRunning();
  }

  close(): void {
    this.#letGo();
    this.#channel.close();
  }
}

/** The last moment that the log vouches for, by both clocks. */
function lastKnown(file: RecordFile): { atMs: number; wallMs: number } {
  const first = file.spans[0]!;
  return file.events
    .slice(-50)
    .reduce(
      (last, { madeAtMs, madeAt }) =>
        madeAtMs >= last.atMs ? { atMs: madeAtMs, wallMs: Date.parse(madeAt) } : last,
      { atMs: Math.max(0, first.startMs), wallMs: first.wallMs },
    );
}
