import type { Author, EventBody } from '../../core/log/events.ts';
import { isSealed } from '../../core/log/after-signing.ts';
import { openMatters, type OpenMatter } from '../../core/desk/open-matters.ts';
import { deriveFacts, type Facts } from '../../core/facts/derive.ts';
import type { RecordView } from '../../core/log/view.ts';
import type { RunningRecord } from '../../app/running-record.svelte.ts';
import { announcements } from '../common/announce.svelte.ts';

/** The events that take these back, for the undo button; null where one of them cannot be taken back. */
export function inverseOf(bodies: readonly EventBody[], before: RecordView): EventBody[] | null {
  const inverse: EventBody[] = [];
  for (const body of bodies) {
    const entry =
      'entryId' in body ? before.entries.find(({ entryId }) => entryId === body.entryId) : undefined;
    if (body.kind === 'entry') inverse.push({ kind: 'strike', entryId: body.entryId });
    else if (body.kind === 'strike') inverse.push({ kind: 'restore', entryId: body.entryId });
    else if (body.kind === 'restore') inverse.push({ kind: 'strike', entryId: body.entryId });
    else if (body.kind === 'confirm') {
      inverse.push(...body.entryIds.map((entryId): EventBody => ({ kind: 'strike', entryId })));
    } else if (body.kind === 'replace' && entry) {
      inverse.push({ kind: 'replace', entryId: body.entryId, entry: entry.entry });
    } else if (body.kind === 'shift' && entry) {
      const estimated = entry.estimated ? ({ estimated: true } as const) : {};
      inverse.push({ kind: 'shift', entryId: body.entryId, atMs: entry.atMs, ...estimated });
    } else if (body.kind === 'field') {
      inverse.push({ ...body, value: before.fields[body.field]?.value ?? '' });
    } else if (body.kind === 'clock-offset') {
      inverse.push({
        kind: 'clock-offset',
        roomMinusDeviceMs: before.clockOffset?.roomMinusDeviceMs ?? null,
        against: before.clockOffset?.against ?? '',
      });
    } else return null;
  }
  return inverse.reverse();
}

interface Act {
  bodies: EventBody[];
  said: string;
}

/** What a person at the desk does to one record: each act is events, can be taken back, and is said once. */
export class Desk {
  /** A sentence to show where the last act was not kept. */
  error = $state('');
  busy = $state(false);
  /** The last act in words, with the events that take it back. */
  last: { said: string; undo: EventBody[] | null } | null = $state.raw(null);
  /** An act that waits for the reason of an amendment. */
  waiting: Act | null = $state.raw(null);

  constructor(
    readonly record: RunningRecord,
    readonly by: Author,
  ) {}

  get view(): RecordView {
    return this.record.view;
  }
  readonly facts: Facts = $derived(deriveFacts(this.view));
  readonly open: OpenMatter[] = $derived(openMatters(this.view, this.facts));

  /**
   * Appends the events, or asks for the reason first where the record is signed.
   * @param said what was done, as one sentence for the screen and the screen reader.
   */
  async act(bodies: EventBody[], said: string): Promise<boolean> {
    if (bodies.length === 0) return true;
    // A touch that comes twice while the device still writes is one touch.
    if (this.#keeping === said) return false;
    if (isSealed(this.view)) {
      this.waiting = { bodies, said };
      return false;
    }
    return this.#append(bodies, said, inverseOf(bodies, this.view));
  }

  /** Asks why there are call-outs after the signature. */
  askReason(said: string): void {
    this.waiting = { bodies: [], said };
  }

  /** Opens a signed record for a dated amendment and does what waited for it. */
  async amend(reason: string): Promise<boolean> {
    const act = this.waiting;
    if (!act) return false;
    const before = this.view;
    this.waiting = null;
    return this.#append([{ kind: 'amend', reason }, ...act.bodies], act.said, inverseOf(act.bodies, before));
  }

  /** Adds what no signature covers and none is disturbed by: a talk with the family, a release. */
  async add(bodies: EventBody[], said: string): Promise<boolean> {
    return this.#append(bodies, said, null);
  }

  async sign(name: string, role: string, statement: string, said: string): Promise<boolean> {
    return this.#append([{ kind: 'sign', name, role, statement }], said, null);
  }

  async undo(said: string): Promise<void> {
    const { last } = this;
    if (!last?.undo) return;
    if (isSealed(this.view)) this.waiting = { bodies: last.undo, said };
    else await this.#append(last.undo, said, null);
  }

  #keeping: string | null = null;

  async #append(bodies: EventBody[], said: string, undo: EventBody[] | null): Promise<boolean> {
    this.busy = true;
    this.#keeping = said;
    try {
      await this.record.append(bodies, this.by);
      this.error = '';
      this.last = { said, undo };
      announcements.say(said);
      return true;
    } catch (error) {
      this.error = error instanceof Error ? error.message : String(error);
      announcements.warn(this.error);
      return false;
    } finally {
      this.busy = false;
      this.#keeping = null;
    }
  }
}
