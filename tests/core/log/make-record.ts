import type { Entry } from '../../../src/core/entry.ts';
import type { Interpretation } from '../../../src/core/interpret/interpretation.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import { isoWithOffset, wallMsAt } from '../../../src/core/log/clock.ts';
import type { Author, EventBody, RecordFile } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import { respond } from '../../../src/core/dialogue/respond.ts';

/** Builds an invented record step by step, as the app would, with counted names instead of random ones. */
export class MadeRecord {
  file: RecordFile;
  private count = 0;

  constructor(
    options: { mode?: 'real' | 'practice'; reference?: string; startAt?: string; timeZone?: string } = {},
  ) {
    const {
      mode = 'real',
      reference,
      startAt = '2026-03-05T14:00:00Z',
      timeZone = 'Europe/London',
    } = options;
    const wallMs = Date.parse(startAt);
    const createdAt = isoWithOffset(timeZone, wallMs);
    this.file = createRecordFile({
      recordId: 'rec-1',
      mode,
      wallMs,
      createdAt,
      timeZone,
      reference,
      madeWith: { app: '0.0.0', model: 'invented', vocabulary: 'invented' },
    });
  }

  newId = (prefix = 'id'): string => `${prefix}-${(this.count += 1)}`;

  append(by: Author, madeAtMs: number, ...bodies: EventBody[]): this {
    const madeAt = isoWithOffset(this.file.timeZone, wallMsAt(this.file.spans, madeAtMs));
    const last = this.file.events.at(-1) ?? null;
    const events = [...this.file.events, ...sealEvents(last, bodies, { by, madeAtMs, madeAt })];
    this.file = { ...this.file, events };
    return this;
  }

  /** A voice utterance of about 1.2 s that the strip shows 600 ms after its end. */
  said(onsetMs: number, heard: string, interpretation: Interpretation, heardSecond = heard): this {
    const utteranceId = this.newId('utt');
    const utterance = { utteranceId, onsetMs, endMs: onsetMs + 1200, heard, heardSecond, confidence: 0.9 };
    const bodies = respond(interpretation, utterance, this.view, () => this.newId());
    return this.append({ kind: 'voice' }, onsetMs + 1800, ...bodies);
  }

  /** A clear call-out. */
  called(onsetMs: number, heard: string, ...entries: Entry[]): this {
    return this.said(onsetMs, heard, { outcome: 'accept', entries });
  }

  command(onsetMs: number, heard: string, code: 'undo' | 'confirm' | 'reject' | 'finish' | 'mark'): this {
    return this.said(onsetMs, heard, { outcome: 'command', entries: [], command: { code } });
  }

  /** An entry typed in afterwards. */
  typed(
    madeAtMs: number,
    atMs: number,
    entry: Entry,
    by: Author = { kind: 'reviewer' },
    estimated = false,
  ): this {
    const entryId = this.newId();
    const body: EventBody = { kind: 'entry', entryId, entry, atMs, timing: 'typed' };
    return this.append(by, madeAtMs, estimated ? { ...body, estimated: true } : body);
  }

  touched(atMs: number, entry: Entry, by: Author = { kind: 'helper' }): this {
    return this.append(by, atMs, { kind: 'entry', entryId: this.newId(), entry, atMs, timing: 'touch' });
  }

  field(madeAtMs: number, field: string, value: string, by: Author = { kind: 'reviewer' }): this {
    return this.append(by, madeAtMs, { kind: 'field', field, value });
  }

  get view() {
    return foldRecord(this.file);
  }

  /** The entry name of the last logged entry with this code. */
  idOf(code: string): string {
    const found = this.view.entries.findLast(({ entry }) => entry.code === code);
    if (found === undefined) throw new Error(`no entry ${code}`);
    return found.entryId;
  }
}

/** Minutes and seconds as milliseconds of record time. */
export const at = (minutes: number, seconds = 0): number => (minutes * 60 + seconds) * 1000;
