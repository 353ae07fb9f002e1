import { bodyOf, NO_EVENT_HASH, sealEvents } from '../core/log/chain.ts';
import type { ClockSpan, LogEvent, RecordFile } from '../core/log/events.ts';
import { arranged, sealInRecord } from '../core/log/lanes.ts';
import type { MakeEvents, RecordShelf } from './record-shelf.ts';
import { asShelfError, type StorageProblem } from './shelf.ts';
import type { LockBox } from './keyring.ts';
import { emptySummary, extendSummary, lockedSummary, type RecordSummary } from './summary.ts';

export type Sign = (events: readonly LogEvent[]) => Promise<LogEvent[]>;

export interface KeepingState {
  problem: StorageProblem | null;
  /** Ids of the records that live in this window's memory only. */
  held: string[];
}

/** Records that were open last; older ones are dropped unless they are held. */
const REMEMBERED = 4;
const RETRY_MS = [2_000, 5_000, 10_000, 30_000];

/**
 * Events that were made in memory, behind whatever the device has by now: what still follows in its lane stays as it
 * is, other devices' events always; what another window of this device came before is sealed again.
 */
function follow(there: readonly LogEvent[], events: readonly LogEvent[]): LogEvent[] {
  const all = [...there];
  const known = new Set(there.map(({ hash }) => hash));
  for (const event of events) {
    if (known.has(event.hash)) continue;
    const [next] = fits(all, event) ? [{ ...event, seq: all.length }] : sealedAgain(all, event);
    all.push(next!);
  }
  return all.slice(there.length);
}

function fits(all: readonly LogEvent[], event: LogEvent): boolean {
  if (event.lane === undefined) return false;
  const last = all.findLast(({ lane }) => lane === event.lane);
  return event.previousHash === (last?.hash ?? NO_EVENT_HASH);
}

function sealedAgain(all: readonly LogEvent[], event: LogEvent): LogEvent[] {
  const { by, madeAtMs, madeAt, lane, device } = event;
  const made = { by, madeAtMs, madeAt };
  if (lane === undefined) return sealEvents(all.at(-1) ?? null, [bodyOf(event)], made);
  return sealInRecord(all, [bodyOf(event)], { ...made, writer: { lane, device } });
}

/** This window's own copies of the records it works on, and those that the device could not keep. */
export class HeldRecords {
  #known = new Map<string, RecordFile>();
  #locks = new Map<string, LockBox>();
  #held = new Map<string, StorageProblem>();
  #listeners = new Set<(state: KeepingState) => void>();
  #retries = 0;
  #timer: ReturnType<typeof setTimeout> | undefined;
  readonly #device: RecordShelf;
  readonly #sign: Sign;

  /** @param sign signs again what had to be sealed behind another window's events. */
  constructor(device: RecordShelf, sign: Sign = (events) => Promise.resolve([...events])) {
    this.#device = device;
    this.#sign = sign;
  }

  has = (recordId: string) => this.#held.has(recordId);
  knows = (recordId: string) => this.#known.has(recordId);
  why = (recordId: string): StorageProblem => this.#held.get(recordId) ?? 'storage-failed';

  file(recordId: string): RecordFile | undefined {
    const file = this.#known.get(recordId);
    return file && arranged({ ...file, spans: [...file.spans], events: [...file.events] });
  }

  remember(file: RecordFile, lock?: LockBox): void {
    this.#known.delete(file.recordId);
    if (lock) this.#locks.set(file.recordId, lock);
    else this.#locks.delete(file.recordId);
    const plain = JSON.parse(JSON.stringify({ ...file, events: [] })) as RecordFile;
    this.#known.set(file.recordId, { ...plain, events: [...file.events] });
    for (const recordId of this.#known.keys()) {
      if (this.#known.size <= REMEMBERED) break;
      if (!this.#held.has(recordId)) this.#known.delete(recordId);
    }
  }

  /** Follows an append that the device kept; reads the record where another window wrote in between. */
  async noticed(recordId: string, events: readonly LogEvent[], span?: ClockSpan): Promise<void> {
    if (events.length === 0) return;
    const file = this.#known.get(recordId);
    if (file && (file.events.at(-1)?.seq ?? -1) + 1 === (events[0]?.seq ?? -1)) {
      file.events.push(...events);
      if (span) file.spans.push(span);
      return;
    }
    try {
      const outcome = await this.#device.read(recordId);
      if (outcome.kind === 'ok') this.remember(outcome.file, outcome.lock);
    } catch {
      // The append itself is kept; the copy is only for a failure to come.
      this.#known.delete(recordId);
    }
  }

  hold(recordId: string, why: StorageProblem): void {
    this.#held.set(recordId, why);
    this.#retries = 0;
    this.#scheduleRetry();
    this.#tell();
  }

  async append(recordId: string, make: MakeEvents, span?: ClockSpan): Promise<{ events: LogEvent[] }> {
    const file = this.#known.get(recordId)!;
    const events = await make(file.events.at(-1) ?? null, span ? [...file.spans, span] : file.spans);
    if (span && events.length > 0) file.spans.push(span);
    file.events.push(...events);
    return { events };
  }

  summaries(): RecordSummary[] {
    return [...this.#held.keys()].map((recordId) => {
      const file = this.#known.get(recordId)!;
      const summary = extendSummary(emptySummary(file), file.events);
      return this.#locks.has(recordId) ? lockedSummary(summary) : summary;
    });
  }

  /** Writes a held record to the device: what is already there stays, what is missing is added. */
  async bringBack(recordId: string): Promise<{ kind: 'ok' } | { kind: 'held'; why: StorageProblem }> {
    const file = this.#known.get(recordId)!;
    try {
      const there = await this.#device.read(recordId);
      if (there.kind === 'missing') await this.#device.create(file, this.#locks.get(recordId));
      else if (there.kind === 'ok') {
        const [span] = file.spans.slice(there.file.spans.length);
        await this.#device.append(
          recordId,
          async () => {
            const now = await this.#device.read(recordId);
            return this.#sign(follow(now.kind === 'ok' ? now.file.events : there.file.events, file.events));
          },
          span,
        );
      } else if (there.kind === 'locked') return this.#stays(recordId, 'locked-elsewhere');
      else return this.#stays(recordId, 'storage-failed');
      this.#held.delete(recordId);
      this.#tell();
      return { kind: 'ok' };
    } catch (error) {
      const { problem } = asShelfError(error);
      return this.#stays(recordId, problem === 'taken' ? 'storage-failed' : problem);
    }
  }

  async retryAll(): Promise<void> {
    for (const recordId of [...this.#held.keys()]) await this.bringBack(recordId);
    if (this.#held.size > 0) this.#scheduleRetry();
  }

  forget(recordId: string): void {
    this.#known.delete(recordId);
    this.#locks.delete(recordId);
    if (this.#held.delete(recordId)) this.#tell();
  }

  forgetAll(): void {
    this.#known.clear();
    this.#locks.clear();
    this.#held.clear();
    clearTimeout(this.#timer);
    this.#tell();
  }

  state = (): KeepingState => ({
    problem: [...this.#held.values()][0] ?? null,
    held: [...this.#held.keys()],
  });

  onChange(listener: (state: KeepingState) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  #stays(recordId: string, why: StorageProblem): { kind: 'held'; why: StorageProblem } {
    this.#held.set(recordId, why);
    return { kind: 'held', why };
  }

  #tell(): void {
    const state = this.state();
    for (const listener of this.#listeners) listener(state);
  }

  #scheduleRetry(): void {
    clearTimeout(this.#timer);
    const wait = RETRY_MS[Math.min(this.#retries++, RETRY_MS.length - 1)];
    this.#timer = setTimeout(() => void this.retryAll(), wait);
  }
}
