import { createInterface } from 'node:readline';
import { interpret } from '../core/interpret/interpret.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';

/** One line per utterance in ("tuned", or "tuned<TAB>untouched"), one JSON object per line out, same order. */
const vocabulary = loadVocabulary();
const lines = createInterface({ input: process.stdin, crlfDelay: Infinity });
for await (const line of lines) {
  const [tuned = '', untouched] = line.split('\t');
  const heard = {
    tuned: { text: tuned },
    ...(untouched === undefined ? {} : { untouched: { text: untouched } }),
  };
  process.stdout.write(`${JSON.stringify(interpret(heard, { asking: false }, vocabulary))}\n`);
}
