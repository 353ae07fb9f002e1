/**
 * What was said and what the tuned decoder wrote, a line for each call-out: said, written, model, set, condition, with tabs between.
 *
 *   npx tsx models/training/heard-words.ts READINGS.jsonl… > models/training/data/heard.tsv
 */
import { readLines } from './readings.ts';

const lines = readLines(process.argv.slice(2))
  .filter(({ expected, said }) => expected !== null && expected.length > 0 && said !== '')
  .map(({ said, heard, set, kind, snr, model }) =>
    [said, heard.tuned.text, model, set, kind + (snr === null ? '' : ` ${snr} dB`)].join('\t'),
  );
process.stdout.write(`${[...new Set(lines)].sort().join('\n')}\n`);
