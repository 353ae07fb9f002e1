import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { FAULTS } from './all.ts';
import { runCampaign, table } from './campaign.ts';
import { randomFrom } from './random.ts';

const { values } = parseArgs({
  options: {
    short: { type: 'boolean', default: false },
    seed: { type: 'string', default: '1' },
    only: { type: 'string' },
    dist: { type: 'string', default: join(import.meta.dirname, '../../dist') },
  },
});

const outcomes = await runCampaign(
  FAULTS,
  {
    dist: values.dist,
    short: values.short,
    random: randomFrom(Number(values.seed)),
    report: (line) => console.error(line),
  },
  values.only === undefined ? undefined : new RegExp(values.only, 'i'),
);
const text = table(outcomes);
console.log(`Seed ${values.seed}.\n\n${text}`);
const folder = join(import.meta.dirname, '../../.artefacts');
mkdirSync(folder, { recursive: true });
writeFileSync(join(folder, 'faults.md'), `${text}\n`);
const failed = outcomes.some((one) => one.lost > 0 || one.changed > 0 || one.wrong.length > 0);
process.exit(failed ? 1 : 0);
