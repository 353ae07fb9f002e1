import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { FAULTS } from '../faults/all.ts';
import { runCampaign, table, type Outcome } from '../faults/campaign.ts';
import { randomFrom } from '../faults/random.ts';

/** The short form: the faults that a build can break soonest. `npm run faults` runs all of them, and more often. */
const IN_SHORT =
  /killed \(SIGKILL\)|power cut|crashed|deleted under|two windows|system clock|site data blocked/;
const done: Outcome[] = [];
afterAll(() => console.log(`\n${table(done)}\n`));

test.each(FAULTS.filter(({ name }) => IN_SHORT.test(name)).map(({ name }) => name))('%s', async (name) => {
  const fault = FAULTS.filter((one) => one.name === name);
  const stage = {
    dist: process.env['UTTERLOG_DIST'] ?? join(import.meta.dirname, '../../dist'),
    short: true,
    random: randomFrom(7),
    report: () => {},
  };
  const [outcome] = await runCampaign(fault, stage);
  done.push(outcome!);
  expect(outcome!.wrong).toEqual([]);
  expect(outcome!.acknowledged).toBeGreaterThan(0);
  expect(outcome!.present).toBe(outcome!.acknowledged);
  expect(outcome).toMatchObject({ lost: 0, changed: 0 });
});
