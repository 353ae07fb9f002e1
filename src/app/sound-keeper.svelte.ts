import type { CaptureChunk } from '../audio/capture.ts';
import { RecentSound } from '../audio/recent-sound.ts';
import type { Sound } from '../audio/wav.ts';
import type { LogEvent } from '../core/log/events.ts';
import { keepAudio, keepsAudio, stopAudio } from '../store/kept-audio.ts';
import type { StorageProblem } from '../store/shelf.ts';

/** Kept on either side of an utterance, so that its first and last sounds are whole, ms. */
const MARGIN_MS = 300;

/**
 * Keeps the sound of what was heard, where that was chosen for the record; else it holds nothing. The record
 * comes first: where the device has no room for a sound, no more sound is kept.
 */
export class SoundKeeper {
  /** Why the sound is not kept any more. */
  trouble: StorageProblem | null = $state(null);
  #recent: RecentSound | null = null;
  readonly #recordId: string;

  constructor(recordId: string) {
    this.#recordId = recordId;
  }

  push(chunk: CaptureChunk): void {
    if (keepsAudio(this.#recordId)) (this.#recent ??= new RecentSound()).push(chunk);
    else this.#recent = null;
  }

  /**
   * The sound of an utterance, times of the chunks' clock; to be taken before it is forgotten. None of one that
   * began before it was chosen: its end alone would mislead whoever hears it.
   */
  take(onsetMs: number, endMs: number): Sound | null {
    if (!this.#recent || this.#recent.beginsMs > onsetMs) return null;
    return this.#recent.cut(onsetMs - MARGIN_MS, endMs + MARGIN_MS);
  }

  /** Keeps it for the utterance among these events, once that is in the log. */
  async keep(sound: Sound | null, events: readonly LogEvent[]): Promise<void> {
    const utterance = events.find((event) => event.kind === 'utterance');
    if (!sound || !utterance) return;
    const { writeWav } = await import('../audio/wav.ts');
    const wav = writeWav(sound) as Uint8Array<ArrayBuffer>;
    const outcome = await keepAudio(this.#recordId, utterance.utteranceId, wav);
    if (outcome.kind === 'failed') {
      stopAudio(this.#recordId);
      this.trouble = outcome.why;
    } else if (outcome.kind === 'ok') this.trouble = null;
  }
}
