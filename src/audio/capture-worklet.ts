/**
 * Runs on the audio thread: gathers the microphone's blocks of 128 samples to about 32 ms and posts them with
 * the number of their first sample. That number is the clock: it goes on while the input gives nothing.
 */
interface WorkletScope {
  readonly currentFrame: number;
  readonly sampleRate: number;
  readonly AudioWorkletProcessor: new () => { readonly port: MessagePort };
  registerProcessor(name: string, processor: unknown): void;
}

/** From the worklet: `samples` mono, −1…1. */
export interface CapturedBlock {
  firstSample: number;
  samples: Float32Array;
}

const scope = globalThis as unknown as WorkletScope;
const BLOCK_SECONDS = 0.032;

class Capture extends scope.AudioWorkletProcessor {
  #block = new Float32Array(Math.round((scope.sampleRate * BLOCK_SECONDS) / 128) * 128);
  #filled = 0;
  #firstSample = 0;

  process(inputs: Float32Array[][]): boolean {
    const channels = inputs[0] ?? [];
    const first = channels[0];
    if (!first) {
      // No input for now: what was gathered goes out, so that the gap lies between two blocks.
      this.#post();
      return true;
    }
    if (this.#filled === 0) this.#firstSample = scope.currentFrame;
    for (let k = 0; k < first.length; k++) {
      let sum = 0;
      for (const channel of channels) sum += channel[k]!;
      this.#block[this.#filled++] = sum / channels.length;
    }
    if (this.#filled >= this.#block.length) this.#post();
    return true;
  }

  #post(): void {
    if (this.#filled === 0) return;
    const block: CapturedBlock = {
      firstSample: this.#firstSample,
      samples: this.#block.slice(0, this.#filled),
    };
    this.port.postMessage(block, [block.samples.buffer]);
    this.#filled = 0;
  }
}

scope.registerProcessor('utterlog-capture', Capture);
