import type { RunningRecord } from '../../app/running-record.svelte.ts';
import type { EventBody } from '../../core/log/events.ts';

/** What a helper's hand does to the record; what went wrong is told as a sentence. */
export class Hand {
  error = $state('');
  constructor(readonly record: RunningRecord) {}

  readonly append = async (bodies: EventBody[]): Promise<void> => {
    try {
      await this.record.append(bodies, { kind: 'helper' });
      this.error = '';
    } catch (error) {
      this.error = error instanceof Error ? error.message : String(error);
    }
  };
}
