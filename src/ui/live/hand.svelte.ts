import { NeedsReason, type MakeBodies, type RunningRecord } from '../../app/running-record.svelte.ts';
import { nextQuestion } from '../../core/dialogue/asked.ts';
import type { EventBody } from '../../core/log/events.ts';
import { takeIn } from '../../core/dialogue/take-in.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';

/** What a helper's hand does to the record; what went wrong is told as a sentence. */
export class Hand {
  error = $state('');
  /** Acts on a signed record that wait for their reason. */
  waiting: EventBody[] | null = $state.raw(null);
  constructor(
    readonly record: RunningRecord,
    readonly vocabulary: () => Vocabulary,
  ) {}

  readonly append = async (bodies: EventBody[] | MakeBodies): Promise<void> => {
    try {
      await this.record.append(bodies, { kind: 'helper' });
      this.error = '';
    } catch (error) {
      if (error instanceof NeedsReason) this.waiting = error.bodies;
      else this.error = error instanceof Error ? error.message : String(error);
    }
  };

  /** Gives the reason, and does what waited for it. */
  readonly amend = async (reason: string): Promise<void> => {
    const bodies = this.waiting ?? [];
    this.waiting = null;
    await this.append([{ kind: 'amend', reason }, ...bodies]);
  };

  /** Brings the question that was not looked at for longest to the strip, or the same one again. */
  readonly nextQuestion = (): Promise<void> =>
    this.append((view) => {
      const next = nextQuestion(view, this.record.clock.nowMs());
      return next === null ? [] : [{ kind: 'ask-again', questionId: next.questionId }];
    });

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
