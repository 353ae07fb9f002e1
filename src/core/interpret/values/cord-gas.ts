import type { Vessel } from '../../entry.ts';
import type { Ranges } from '../../vocabulary/vocabulary.ts';
import { settle, takeValue, type Sample } from './gas-values.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, wordsOf } from './numbers.ts';
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
      if (breaksOff(tokens, run.to)) {
        sample.problem ??= 'value-missing';
        sample.spoken.push(wordsOf(tokens, run.from, tokens.length));
        return settle(samples, undefined, { from: at, to: tokens.length });
      }
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

/** "seven point": the decimals were not heard. */
const breaksOff = (tokens: readonly Token[], to: number): boolean =>
  to === tokens.length - 1 && /^(point|decimal|dot)$/.test(tokens[to]!.word);

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
