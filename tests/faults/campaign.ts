import type { Acknowledged, Shown } from './drive.ts';
import type { Random } from './random.ts';

/** One fault's outcome over all its tries. */
export interface Outcome {
  fault: string;
  tries: number;
  /** Entries that the screen had shown as logged before the fault. */
  acknowledged: number;
  present: number;
  lost: number;
  /** Entries whose clock time or time since the head is shown otherwise than before. */
  changed: number;
  /** What the person read, or what was checked beyond the counts. */
  told: string;
  /** What went against expectation; empty where all is well. */
  wrong: string[];
}

export interface Fault {
  name: string;
  /** Runs in the short form too. */
  short: boolean;
  run: (stage: Stage) => Promise<Omit<Outcome, 'fault'>>;
}

export interface Stage {
  /** A folder with the built app. */
  dist: string;
  short: boolean;
  random: Random;
  report: (line: string) => void;
}

export const begun = (): Omit<Outcome, 'fault'> => ({
  tries: 0,
  acknowledged: 0,
  present: 0,
  lost: 0,
  changed: 0,
  told: '',
  wrong: [],
});

/** Counts what was shown before against what is shown after. */
export function compare(
  outcome: Omit<Outcome, 'fault'>,
  before: ReadonlyMap<string, Shown>,
  after: ReadonlyMap<string, Shown>,
): void {
  outcome.tries += 1;
  outcome.acknowledged += before.size;
  for (const [id, shown] of before) {
    const now = after.get(id);
    if (!now) {
      outcome.lost += 1;
      continue;
    }
    outcome.present += 1;
    if (now.time !== shown.time || (shown.sinceHead !== '' && now.sinceHead !== shown.sinceHead)) {
      outcome.changed += 1;
    }
  }
}

export const expectThat = (outcome: Omit<Outcome, 'fault'>, holds: boolean, sentence: string): void => {
  if (!holds) outcome.wrong.push(sentence);
};

export type { Acknowledged };

export async function runCampaign(faults: readonly Fault[], stage: Stage, only?: RegExp): Promise<Outcome[]> {
  const outcomes: Outcome[] = [];
  for (const fault of faults) {
    if (only ? !only.test(fault.name) : stage.short && !fault.short) continue;
    const startedMs = performance.now();
    let outcome: Outcome;
    try {
      outcome = { fault: fault.name, ...(await fault.run(stage)) };
    } catch (error) {
      const why = error instanceof Error ? error.message.split('\n')[0]! : String(error);
      outcome = { fault: fault.name, ...begun(), wrong: [`could not be tried: ${why}`] };
    }
    outcomes.push(outcome);
    const seconds = ((performance.now() - startedMs) / 1000).toFixed(1);
    stage.report(`${fault.name}: ${outcome.lost} lost of ${outcome.acknowledged}, ${seconds} s`);
  }
  return outcomes;
}

export function table(outcomes: readonly Outcome[]): string {
  const cell = (value: string | number) => String(value).replaceAll('|', '/').replace(/\s+/g, ' ');
  const rows = outcomes.map((one) =>
    [
      one.fault,
      one.tries,
      one.acknowledged,
      one.present,
      one.lost,
      one.changed,
      one.told,
      one.wrong.join('; ') || '–',
    ]
      .map(cell)
      .join(' | '),
  );
  const sum = (of: (one: Outcome) => number) => outcomes.reduce((total, one) => total + of(one), 0);
  const total = [
    '**all**',
    sum((one) => one.tries),
    sum((one) => one.acknowledged),
    sum((one) => one.present),
    sum((one) => one.lost),
    sum((one) => one.changed),
    '',
    sum((one) => one.wrong.length) || '–',
  ].join(' | ');
  return [
    '| fault | tries | acknowledged before | present after | lost | intervals changed | what the person was told | against expectation |',
    '|---|---|---|---|---|---|---|---|',
    ...rows.map((row) => `| ${row} |`),
    `| ${total} |`,
  ].join('\n');
}
