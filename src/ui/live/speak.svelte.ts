import type { Listening } from '../../app/listening.svelte.ts';

/** A voice that speaks on the device itself, English where there is one; null where the browser has none. */
export function localVoice(): SpeechSynthesisVoice | null {
  if (typeof speechSynthesis === 'undefined') return null;
  const local = speechSynthesis.getVoices().filter((voice) => voice.localService);
  return local.find(({ lang }) => lang.startsWith('en')) ?? null;
}

/** A sentence is given up after this: some browsers never tell that a voice has ended. */
const LONGEST_MS = 12_000;

function say(sentence: string, voice: SpeechSynthesisVoice): Promise<void> {
  return new Promise((resolve) => {
    const utterance = new SpeechSynthesisUtterance(sentence);
    utterance.voice = voice;
    utterance.lang = voice.lang;
    const end = () => {
      clearTimeout(timer);
      resolve();
    };
    const timer = setTimeout(() => {
      speechSynthesis.cancel();
      end();
    }, LONGEST_MS);
    utterance.onend = end;
    utterance.onerror = end;
    speechSynthesis.speak(utterance);
  });
}

/**
 * Speaks one sentence after the other; while it does, the microphone is not listened to. Only the newest
 * sentence waits: what is older stands on the screen.
 */
export class ReadBack {
  #next: string | null = null;
  #speaking = false;

  /** @returns false where no voice of the device can speak. */
  say(sentence: string, listening: Listening | null): boolean {
    const voice = localVoice();
    if (voice === null) return false;
    this.#next = sentence;
    if (!this.#speaking) {
      const spoken = this.#speakAll(voice);
      if (listening) void listening.ignoreWhile(spoken);
    }
    return true;
  }

  async #speakAll(voice: SpeechSynthesisVoice): Promise<void> {
    this.#speaking = true;
    while (this.#next !== null) {
      const sentence = this.#next;
      this.#next = null;
      await say(sentence, voice);
    }
    this.#speaking = false;
  }
}
