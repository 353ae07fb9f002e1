import type { Report, ReportOptions } from '../audit/report-model.ts';
import { DATABASE, deviceKeys, keeping, openKeys } from '../store/records.ts';
import type { FromDepartment, ToDepartment } from './department-messages.ts';

export type DepartmentState =
  | { kind: 'reading'; done: number; all: number }
  | { kind: 'asking' }
  | { kind: 'report'; report: Report }
  | { kind: 'failed'; why: string };

/** Months as "2026-03"; empty where none is asked for. */
export interface Asked {
  since: string;
  until: string;
  change: string;
}

/** What the records of this device say together, worked out beside the page. `end` when the page closes. */
export class Department {
  state = $state.raw<DepartmentState>({ kind: 'reading', done: 0, all: 0 });
  /** First and last month on the device, once it is read. */
  months = $state.raw<{ first: string; last: string } | null>(null);
  private leftOut: string[] = [];
  private isRead = false;
  private asked: Asked = { since: '', until: '', change: '' };
  private readonly worker: Worker;

  constructor(
    private readonly words: { locked: (n: number) => string; unread: string; held: string; source: string },
  ) {
    this.worker = new Worker(new URL('./department-worker.ts', import.meta.url), { type: 'module' });
    this.worker.onmessage = ({ data }: MessageEvent<FromDepartment>) => this.hear(data);
    this.worker.onerror = (event) => (this.state = { kind: 'failed', why: event.message });
    // The keys cannot be exported, but handed to a worker of this page.
    void deviceKeys.all().then(
      (all) => this.send({ kind: 'read', database: DATABASE, keys: openKeys, deviceKeys: all }),
      (error: unknown) => (this.state = { kind: 'failed', why: String(error) }),
    );
  }

  /** Asks for the report of these months; the last wish counts. */
  ask(asked: Asked): void {
    this.asked = asked;
    if (!this.isRead) return;
    this.state = { kind: 'asking' };
    const given = (month: string) => (month === '' ? undefined : month);
    const options: Omit<ReportOptions, 'vocabulary'> = {
      madeOn: new Date().toISOString().slice(0, 10),
      since: given(asked.since),
      until: given(asked.until),
      change: given(asked.change),
      source: this.words.source,
      leftOut: this.leftOut,
    };
    this.send({ kind: 'ask', options });
  }

  end(): void {
    this.worker.terminate();
  }

  private send(message: ToDepartment): void {
    this.worker.postMessage(message);
  }

  private hear(message: FromDepartment): void {
    switch (message.kind) {
      case 'progress':
        this.state = { kind: 'reading', done: message.done, all: message.all };
        return;
      case 'read': {
        const { first, last, locked, unread } = message;
        this.isRead = true;
        this.months = first === null || last === null ? null : { first, last };
        this.leftOut = [
          ...(locked > 0 ? [this.words.locked(locked)] : []),
          ...(unread > 0 ? [this.words.unread] : []),
          ...(keeping().problem === null ? [] : [this.words.held]),
        ];
        this.ask(this.asked);
        return;
      }
      case 'report':
      case 'failed':
        this.state = message;
    }
  }
}
