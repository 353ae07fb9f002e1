import type { Entry } from '../../entry.ts';
import type { Ranges } from '../../vocabulary/vocabulary.ts';
import type { Problem } from '../interpretation.ts';
import type { Measured } from './measured.ts';
import { quantity, type NumberRun } from './numbers.ts';

export interface Sample {
  entry: Entry;
  problem?: Problem;
  spoken: string[];
  alternatives?: Entry[];
}

/** pH as people say it: "seven point one eight", "seven one eight", "seven eighteen", "seven oh five". */
function phOf(run: NumberRun): number | 'unclear' {
  const plain = quantity(run);
  if (plain !== undefined) {
    const only = run.parts[0] as { digits: string };
    // Ordinary text writes "seven eighteen" as 718.
    return run.parts.length === 1 && /^[67]\d\d$/.test(only.digits) && run.to - run.from === 1
      ? plain / 100
      : plain;
  }
  const digits = run.parts.map((part) => (part.kind === 'int' ? part.digits : undefined));
  const [whole, ...rest] = digits;
  if (whole === undefined || whole.length !== 1 || rest.some((part) => part === undefined)) return 'unclear';
  const single = rest.every((part) => part!.length === 1);
  const oneTwoDigit = rest.length === 1 && rest[0]!.length === 2;
  if (oneTwoDigit || (single && rest.length >= 2 && rest.length <= 3))
    return Number(`${whole}.${rest.join('')}`);
  return 'unclear';
}

const within = (value: number, [low, high]: [number, number]): boolean => value >= low && value <= high;

function worst(a: Problem | undefined, b: Problem): Problem {
  return a === 'out-of-range' ? a : b;
}

export function takeValue(
  sample: Sample,
  label: string,
  run: NumberRun,
  sign: -1 | 1 | undefined,
  unit: 'kpa' | 'mmhg' | undefined,
  spoken: string,
  ranges: Ranges,
): void {
  const { entry } = sample;
  const refuse = (problem: Problem, said = spoken): void => {
    sample.problem = worst(sample.problem, problem);
    sample.spoken.push(said);
  };
  if (label === 'ph') {
    const ph = sign === -1 ? -1 : phOf(run);
    if (ph === 'unclear') refuse('unclear');
    else if (!within(ph, ranges.ph)) refuse('out-of-range');
    else entry.ph = ph;
    return;
  }
  const value = quantity(run);
  if (value === undefined) return refuse('unclear');
  if (label === 'lactate') {
    if (sign === -1 || !within(value, ranges.lactate)) refuse('out-of-range');
    else entry.lactate = value;
  } else if (label === 'pco2') takePco2(entry, sign === -1 ? -value : value, unit, refuse, ranges);
  else takeBase(sample, label, value, sign, refuse, ranges);
}

function takePco2(
  entry: Entry,
  value: number,
  unit: 'kpa' | 'mmhg' | undefined,
  refuse: (problem: Problem) => void,
  ranges: Ranges,
): void {
  if (unit === undefined && within(value, ranges.pco2UnitUnclear)) return refuse('unit-missing');
  const inKpa = unit === 'kpa' || (unit === undefined && value < ranges.pco2UnitUnclear[0]);
  if (!within(value, inKpa ? ranges.pco2 : ranges.pco2Mmhg)) return refuse('out-of-range');
  if (inKpa) entry.pco2 = value;
  else entry.pco2Mmhg = value;
}

function takeBase(
  sample: Sample,
  label: string,
  value: number,
  sign: -1 | 1 | undefined,
  refuse: (problem: Problem, said?: string) => void,
  ranges: Ranges,
): void {
  const deficit = label === 'baseDeficit';
  // A negative deficit is said by mistake for either sign: nobody may choose.
  if (deficit && sign === -1) return refuse('unclear', `base deficit minus ${value}`);
  if (!deficit && sign === undefined && value !== 0) {
    sample.alternatives = [-value, value]
      .filter((excess) => within(excess, ranges.baseExcess))
      .map((baseExcess) => ({ ...sample.entry, baseExcess }));
    return refuse(sample.alternatives.length > 0 ? 'sign-missing' : 'out-of-range');
  }
  const excess = (deficit ? -1 : (sign ?? 1)) * value;
  if (!within(excess, ranges.baseExcess)) refuse('out-of-range');
  else sample.entry.baseExcess = excess === 0 ? 0 : excess;
}

export function settle(
  samples: Sample[],
  openLabel: string | undefined,
  span: { from: number; to: number },
): Measured {
  const entries = samples.map(({ entry, spoken }) =>
    spoken.length > 0 ? { ...entry, spoken: spoken.join(', ') } : entry,
  );
  const problem =
    samples.find((sample) => sample.problem === 'out-of-range')?.problem ??
    samples.find((sample) => sample.problem)?.problem;
  const found = { ...span, entries };
  const valueless = entries.some(
    (entry) => Object.keys(entry).length <= 1 + Number(entry.vessel !== undefined),
  );
  const first = samples.find((sample) => sample.alternatives);
  if (problem === 'out-of-range') return { ...found, problem };
  const noVessel = entries.some((entry) => entry.vessel === undefined);
  if (noVessel && !valueless) {
    const alternatives = problem
      ? undefined
      : (['arterial', 'venous'] as const).map((vessel) =>
          entries.map((entry) => ({ ...entry, vessel: entry.vessel ?? vessel })),
        );
    return {
      ...found,
      problem: problem ?? 'vessel-missing',
      ...(alternatives
        ? { alternatives }
        : first?.alternatives
          ? { alternatives: first.alternatives.map((entry) => [entry]) }
          : {}),
    };
  }
  if (problem)
    return {
      ...found,
      problem,
      ...(first?.alternatives && entries.length === 1
        ? { alternatives: first.alternatives.map((entry) => [entry]) }
        : {}),
    };
  if (valueless || openLabel) return { ...found, problem: 'value-missing' };
  const same = entries.filter((entry) => entry.vessel === entries[0]!.vessel).length > 1;
  return same && entries.length > 1 ? { ...found, problem: 'unclear' } : found;
}
