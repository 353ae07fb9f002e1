import type { Wrapped } from './wrapping.ts';

/** What a record tells the department's list, wrapped for its key. */
export interface SharedSummary {
  recordId: string;
  createdAt: string;
  changedAt: string;
  mode: 'real' | 'practice';
  reference: string;
  entryCount: number;
  finished: boolean;
  signed: boolean;
}

export const SUMMARY_PURPOSE = 'summary';

/** As it lies on the server. */
export type SummaryMessage = { wrapped: Wrapped };
