import { Tensor } from '@xenova/transformers';
import { LogitsProcessor, LogitsProcessorList } from '@xenova/transformers/src/utils/generation.js';

/** Only text and the end may be written: special tokens stand above the end. */
class TextAndEndOnly extends LogitsProcessor {
  constructor(readonly end: number) {
    super();
  }
  override _call(_ids: readonly number[], logits: Tensor): Tensor {
    (logits.data as Float32Array).fill(-Infinity, this.end + 1);
    return logits;
  }
}

/** Notes the natural log-probability of the token that greedy search takes. Comes last in its list. */
export class BestLogProbability extends LogitsProcessor {
  readonly noted: number[] = [];
  override _call(_ids: readonly number[], logits: Tensor): Tensor {
    const row = logits.data as Float32Array;
    let best = -Infinity;
    for (const value of row) if (value > best) best = value;
    let sum = 0;
    for (const value of row) sum += Math.exp(value - best);
    this.noted.push(-Math.log(sum));
    return logits;
  }
}

/** What is done with the logits of one reading before its best token is taken. */
export interface ReadingLogits {
  /** Takes the row of this reading's next token and gives the best token's id. */
  next(ids: readonly number[], row: Float32Array): number;
  /** One per call of `next`. */
  readonly logProbabilities: readonly number[];
}

/** A fresh set of processors for one reading; `end` is the id of the end token. */
export function readingLogits(end: number): ReadingLogits {
  const note = new BestLogProbability();
  const processors = new LogitsProcessorList();
  processors.extend([new TextAndEndOnly(end), note]);
  return {
    next(ids, row) {
      processors(ids as number[], new Tensor('float32', row, [1, row.length]));
      let best = 0;
      for (let id = 1; id <= end; id++) if (row[id]! > row[best]!) best = id;
      return best;
    },
    logProbabilities: note.noted,
  };
}
