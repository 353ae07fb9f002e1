import { settings } from '../../app/settings.svelte.ts';
import { loadVocabulary } from '../../core/vocabulary/load.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';

/** The unit's vocabulary, or the one of the app where the unit's words cannot be used, and why. */
class Words {
  readonly #loaded: { vocabulary: Vocabulary; error: string } = $derived.by(() => {
    try {
      return { vocabulary: loadVocabulary(settings.now.unit), error: '' };
    } catch (error) {
      return { vocabulary: loadVocabulary(), error: error instanceof Error ? error.message : String(error) };
    }
  });
  get vocabulary(): Vocabulary {
    return this.#loaded.vocabulary;
  }
  /** Empty, or the sentence that says what is wrong with the unit's words. */
  get error(): string {
    return this.#loaded.error;
  }
}

export const words = new Words();
