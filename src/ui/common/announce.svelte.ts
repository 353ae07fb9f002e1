/** How long news may gather before it is read out, so that a burst of entries is one sentence, not a flood. */
const GATHER_MS = 700;
/** More than this at once is cut to the newest: what was left out is on the screen. */
const MOST_AT_ONCE = 3;

class Announcements {
  polite = $state('');
  urgent = $state('');
  #waiting: string[] = [];
  #timer: ReturnType<typeof setTimeout> | undefined;

  /** Has a screen reader say the sentence when it next pauses. */
  say(sentence: string): void {
    if (this.#waiting.at(-1) !== sentence) this.#waiting.push(sentence);
    this.#timer ??= setTimeout(() => {
      this.#timer = undefined;
      this.polite = this.#waiting.splice(0).slice(-MOST_AT_ONCE).join(' ');
    }, GATHER_MS);
  }

  /** Interrupts: only for what stops the recording. */
  warn(sentence: string): void {
    this.urgent = sentence;
  }
}

export const announcements = new Announcements();
