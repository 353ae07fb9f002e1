import type { Entry, Vessel } from '../entry.ts';
import type { Ranges } from '../vocabulary/vocabulary.ts';
import type { Problem } from './interpretation.ts';
import type { Measured } from './measured.ts';
import type { Token } from './normalise.ts';
import { numberRun, quantity, wordsOf, type NumberRun } from './numbers.ts';
import { timeAt } from './times.ts';

const VESSELS: Record<string, Vessel> = {
  arterial: 'arterial',
  artery: 'arterial',
  arteries: 'arterial',
  venous: 'venous',
  vein: 'venous',
  vena: 'venous',
};
const LABELS: Record<string, 'ph' | 'baseExcess' | 'baseDeficit' | 'pco2' | 'lactate'> = {
  ph: 'ph',
  baseexcess: 'baseExcess',
  be: 'baseExcess',
  basedeficit: 'baseDeficit',
  bd: 'baseDeficit',
  pco2: 'pco2',
  lactate: 'lactate',
  lactates: 'lactate',
  base: 'baseExcess',
};
const SKIPPED = new Set([
  'cord',
  'gas',
  'gases',
  'umbilical',
  'blood',
  'sample',
  'samples',
  'result',
  'results',
  'is',
  'was',
  'of',
  'the',
  'a',
  "'s",
  'and',
  'with',
  'at',
  'from',
  'value',
  'reading',
  'back',
  'on',
  'has',
  'paired',
  'are',
  'we',
  'have',
  'so',
  'then',
  'mmol',
  'millimoles',
  'millimole',
  'per',
  'litre',
  'l',
  'it',
  'its',
  'came',
  'equals',
  'now',
  'showing',
  'shows',
  'show',
  'one',
  'level',
  'number',
  'that',
  "that's",
  'reads',
  'in',
  'fetal',
  'baby',
  'units',
]);
const SIGNS: Record<string, -1 | 1> = { minus: -1, negative: -1, plus: 1, positive: 1 };

interface Sample {
  entry: Entry;
  problem?: Problem;
  spoken: string[];
  alternatives?: Entry[];
}

/** Does a cord-gas stretch begin here? A vessel, a label, or "cord gas" followed by one of them. */
function begins(tokens: readonly Token[], at: number): boolean {
  let to = at;
  while (to < at + 6 && to < tokens.length) {
    const word = tokens[to]!.word;
    if (word in LABELS && word !== 'base') return true;
    if (word in VESSELS) {
      to += 1;
      while (SKIPPED.has(tokens[to]?.word ?? '') && !numberRun(tokens, to)) to += 1;
      const next = tokens[to]?.word ?? '';
      return (next in LABELS && next !== 'base') || numberRun(tokens, to) !== undefined;
    }
    if (!/^(cord|gas|gases|umbilical|blood|sample|result|results|the|paired|fetal)$/.test(word))
      return numberRun(tokens, to) !== undefined && to > at && /^(gas|gases)$/.test(tokens[to - 1]!.word);
    to += 1;
  }
  return false;
}

/** Reads one or both vessels' values; undefined where no cord gas begins here. */
export function cordGasAt(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const start = tokens[at]!.word;
  if (
    !(start in LABELS || start in VESSELS || /^(cord|umbilical|gas|gases|fetal)$/.test(start)) ||
    !begins(tokens, at)
  )
    return undefined;
  const samples: Sample[] = [];
  const fresh = (vessel?: Vessel): Sample => {
    const sample: Sample = { entry: { code: 'cord-gas', ...(vessel ? { vessel } : {}) }, spoken: [] };
    samples.push(sample);
    return sample;
  };
  let sample: Sample | undefined;
  let label: (typeof LABELS)[string] | undefined;
  let sign: -1 | 1 | undefined;
  let to = at;
  let lastUsed = at;
  const trailing = vesselTrails(tokens, at);
  while (to < tokens.length) {
    const word = tokens[to]!.word;
    const run = timeAt(tokens, to) ? undefined : numberRun(tokens, to);
    if (run && (label || sample?.entry.ph === undefined)) {
      sample ??= fresh();
      const unit = unitAfter(tokens, run.to);
      takeValue(sample, label ?? 'ph', run, sign, unit.name, wordsOf(tokens, run.from, unit.to), ranges);
      [label, sign] = [undefined, undefined];
      to = unit.to;
      lastUsed = to;
    } else if (word in VESSELS) {
      const vessel = VESSELS[word]!;
      const nothingYet = sample && !sample.entry.vessel && isBare(sample);
      if (sample && (nothingYet || (trailing && !sample.entry.vessel)))
        sample.entry = { ...sample.entry, vessel };
      else if (!sample || sample.entry.vessel !== vessel) sample = fresh(vessel);
      to += 1;
      lastUsed = to;
      if (trailing && sample.entry.ph !== undefined) sample = undefined;
    } else if (word in LABELS) {
      label =
        word === 'base' && /^(excess|deficit)$/.test(tokens[to + 1]?.word ?? '')
          ? tokens[to + 1]!.word === 'excess'
            ? 'baseExcess'
            : 'baseDeficit'
          : LABELS[word];
      sample ??= fresh();
      to += word === 'base' && /^(excess|deficit)$/.test(tokens[to + 1]?.word ?? '') ? 2 : 1;
      lastUsed = to;
    } else if (word in SIGNS) {
      sign = SIGNS[word];
      to += 1;
    } else if (SKIPPED.has(word)) to += 1;
    else break;
  }
  return samples.length > 0 ? settle(samples, label, { from: at, to: lastUsed }) : undefined;
}

const isBare = ({ entry, spoken }: Sample): boolean => Object.keys(entry).length === 1 && spoken.length === 0;

/** "p h seven point one eight arterial": the first value comes before the first vessel. */
function vesselTrails(tokens: readonly Token[], at: number): boolean {
  for (let to = at; to < tokens.length; to += 1) {
    if (tokens[to]!.word in VESSELS) return false;
    const run = numberRun(tokens, to);
    if (run) return true;
  }
  return false;
}

function unitAfter(tokens: readonly Token[], at: number): { name?: 'kpa' | 'mmhg'; to: number } {
  const word = tokens[at]?.word;
  if (word === 'kpa' || word === 'mmhg') return { name: word, to: at + 1 };
  return { to: at };
}

/** pH as people say it: "seven point one eight", "seven one eight", "seven eighteen", "seven oh five". */
export function phOf(run: NumberRun): number | 'unclear' {
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

function takeValue(
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

function settle(
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
