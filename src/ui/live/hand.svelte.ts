import type { MakeBodies, RunningRecord } from '../../app/running-record.svelte.ts';
import type { EventBody } from '../../core/log/events.ts';
import { takeIn } from '../../core/dialogue/take-in.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';

/** What a helper's hand does to the record; what went wrong is told as a sentence. */
export class Hand {
  error = $state('');
  constructor(
    readonly record: RunningRecord,
    readonly vocabulary: () => Vocabulary,
  ) {}

  readonly append = async (bodies: EventBody[] | MakeBodies): Promise<void> => {
    try {
      await this.record.append(bodies, { kind: 'helper' });
      this.error = '';
    } catch (error) {
      this.error = error instanceof Error ? error.message : String(error);
    }
  };

  /** A typed call-out goes the way of a spoken one; its time is that of the touch. */
  readonly type = (words: string): Promise<void> => {
    const atMs = this.record.clock.nowMs();
    const said = { onsetMs: atMs, endMs: atMs, heard: { tuned: { text: words } } };
    return this.append((view) =>
      takeIn(said, view, this.vocabulary(), () => crypto.randomUUID()).bodies.map((body) =>
        (body.kind === 'entry' || body.kind === 'question') && body.timing === 'heard'
          ? { ...body, timing: 'touch' }
          : body,
      ),
    );
  };
}
