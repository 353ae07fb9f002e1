import type { Report, ReportOptions } from '../audit/report-model.ts';

export type ToDepartment =
  | {
      kind: 'read';
      database: string;
      keys: ReadonlyMap<string, CryptoKey>;
      deviceKeys: ReadonlyMap<string, CryptoKey>;
    }
  | { kind: 'ask'; options: Omit<ReportOptions, 'vocabulary'> };

export type FromDepartment =
  | { kind: 'progress'; done: number; all: number }
  /** All that can be read is read; records that are locked or could not be read are only counted. */
  | { kind: 'read'; first: string | null; last: string | null; locked: number; unread: number }
  | { kind: 'report'; report: Report }
  | { kind: 'failed'; why: string };
