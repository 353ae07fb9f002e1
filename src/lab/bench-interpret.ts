import { readdirSync, readFileSync } from 'node:fs';
import { interpret } from '../core/interpret/interpret.ts';
import type { Heard } from '../core/interpret/interpretation.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { recombinations } from '../../tests/core/interpret/recombine.ts';

/** Times one utterance after another: the test table's texts, alone and as two readings. Limits are stated, not enforced. */
const TABLE = new URL('../../tests/core/interpret/table/', import.meta.url);
const vocabulary = loadVocabulary();
const texts = readdirSync(TABLE)
  .filter((name) => name.endsWith('.tsv'))
  .flatMap((name) => readFileSync(new URL(name, TABLE), 'utf8').split('\n'))
  .filter((line) => line !== '' && !line.startsWith('#'))
  .map((line) => line.split('\t')[0]!);
const heard: Heard[] = texts.flatMap((text) => [
  { tuned: { text } },
  { tuned: { text }, untouched: { text: text.replace(/r/, 'w') } },
]);

interpret(heard[0]!, { asking: false }, vocabulary);
/** Processor time, so that other work on the machine does not count; every utterance once, nothing remembered from before. */
function measure(name: string, utterances: readonly Heard[]): void {
  let faults = 0;
  const times = utterances
    .map((one) => {
      const start = process.cpuUsage();
      try {
        interpret(one, { asking: false }, vocabulary);
      } catch {
        faults += 1;
      }
      const { user, system } = process.cpuUsage(start);
      return (user + system) / 1000;
    })
    .sort((a, b) => a - b);
  const at = (share: number): string => times[Math.floor(share * (times.length - 1))]!.toFixed(2);
  console.log(
    `${name}: ${times.length} utterances, ${faults} faults, median ${at(0.5)} ms, 95th percentile ${at(0.95)} ms, 99th ${at(0.99)} ms, longest ${at(1)} ms of processor time`,
  );
}

measure(
  'test table, one reading',
  heard.filter(({ untouched }) => !untouched),
);
measure(
  'test table, two readings, the second misheard',
  heard.filter(({ untouched }) => untouched),
);
measure(
  'random recombinations',
  recombinations(vocabulary, 20_000, 1).map((text) => ({ tuned: { text } })),
);
console.log('Wanted: median 1 ms, 99th percentile 5 ms.');
