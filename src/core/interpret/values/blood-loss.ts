import type { Entry } from '../../entry.ts';
import type { Ranges } from '../../vocabulary/vocabulary.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, quantity, wordsOf } from './numbers.ts';
import { runTogether, saysAny, skipLinks } from './quantity-words.ts';

const LOSS_METHOD = /^(estimated|measured|total|quantitative|weighed|cumulative)$/;

/** "up to eight hundred" names a bound and no loss. */
const UPPER_BOUND = /^up$/;

/** "five hundred mils blood loss", "a litre of blood lost": the volume first, with its unit. */
function volumeFirst(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const volume = volumeAt(tokens, at);
  if (!volume?.unit || volume.ml === undefined) return undefined;
  const after = tokens[volume.to]?.word === 'of' ? volume.to + 1 : volume.to;
  const lost = tokens[volume.to]?.word === 'lost';
  if (!lost && (tokens[after]?.word !== 'blood' || !/^(loss|lost)$/.test(tokens[after + 1]?.word ?? '')))
    return undefined;
  const millilitres = Math.round(volume.ml);
  const [low, high] = ranges.millilitres;
  const span = { from: at, to: lost ? volume.to + 1 : after + 2 };
  return millilitres >= low && millilitres <= high
    ? { ...span, entries: [{ code: 'blood-loss', millilitres }] }
    : {
        ...span,
        entries: [{ code: 'blood-loss', spoken: wordsOf(tokens, at, volume.to) }],
        problem: 'out-of-range',
      };
}

/** Blood loss after its lead words: "blood loss", "ebl", "estimated blood loss", "measured blood loss". */
export function bloodLossAt(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  let from = at;
  while (LOSS_METHOD.test(tokens[from]?.word ?? '')) from += 1;
  const word = tokens[from]?.word;
  const led =
    word === 'ebl' ||
    word === 'qbl' ||
    (word === 'blood' && tokens[from + 1]?.word === 'loss') ||
    (word === 'loss' && from > at) ||
    (word === 'bleeding' && numberRun(tokens, skipLinks(tokens, from + 1)) !== undefined) ||
    word === 'bled' ||
    word === 'lost' ||
    (word === 'pph' && hasVolume(tokens, from + 1)) ||
    (word === 'loss' && hasVolume(tokens, from + 1));
  if (!led) return volumeFirst(tokens, at, ranges);
  const after = word === 'blood' ? from + 2 : from + 1;
  const valueAt = skipLinks(tokens, after);
  const volume = volumeAt(tokens, valueAt);
  const entry: Entry = { code: 'blood-loss' };
  if (!volume)
    return word === 'bled' || word === 'lost'
      ? undefined
      : { from: at, to: after, entries: [entry], problem: 'value-missing' };
  const spoken = wordsOf(tokens, valueAt, volume.to);
  if (!volume.problem && saysAny(tokens, after, valueAt, UPPER_BOUND)) volume.problem = 'unclear';
  const span = {
    from: at,
    to:
      tokens[volume.to]?.word === 'blood' && tokens[volume.to + 1]?.word === 'loss'
        ? volume.to + 2
        : volume.to,
  };
  if (volume.problem) return { ...span, entries: [{ ...entry, spoken }], problem: volume.problem };
  const millilitres = Math.round(volume.ml!);
  const [low, high] = ranges.millilitres;
  const fits = millilitres >= low && millilitres <= high;
  return fits
    ? { ...span, entries: [{ ...entry, millilitres }] }
    : { ...span, entries: [{ ...entry, spoken }], problem: 'out-of-range' };
}

const hasVolume = (tokens: readonly Token[], at: number): boolean => {
  const volume = volumeAt(tokens, skipLinks(tokens, at));
  return volume?.unit === true;
};

interface Volume {
  to: number;
  ml?: number;
  unit: boolean;
  problem?: 'unclear' | 'unit-missing';
}

function volumeAt(tokens: readonly Token[], at: number): Volume | undefined {
  if (tokens[at]?.word === 'a' && tokens[at + 1]?.word === 'litre') return litres(tokens, 1, at + 1);
  const run = numberRun(tokens, at);
  if (!run) return undefined;
  const unit = tokens[run.to]?.word;
  // "one five hundred" may be five hundred said after a slip.
  const hundreds = run.parts.length > 1 && run.parts.some((part) => part.kind === 'int' && part.value >= 100);
  const value = quantity(run) ?? (hundreds ? undefined : runTogether(run));
  if (unit === 'litre' || unit === 'l') {
    const exact = quantity(run);
    return exact === undefined
      ? { to: run.to + 1, unit: true, problem: 'unclear' }
      : litres(tokens, exact, run.to);
  }
  const said = unit === 'ml';
  const to = run.to + (said ? 1 : 0);
  if (value === undefined) {
    // "one fifty" is 150 or 1050, "twelve fifty" can only be 1250 and was taken above.
    return { to, unit: said, problem: 'unclear' };
  }
  if (said) return { to, ml: value, unit: true };
  return value >= 50 || value === 0
    ? { to, ml: value, unit: false }
    : { to, unit: false, problem: 'unit-missing' };
}

function litres(tokens: readonly Token[], value: number, unitAt: number): Volume {
  let to = unitAt + 1;
  if (
    tokens[to]?.word === 'and' &&
    tokens[to + 1]?.word === 'a' &&
    /^(half|quarter)$/.test(tokens[to + 2]?.word ?? '')
  ) {
    return { to: to + 3, ml: (value + (tokens[to + 2]!.word === 'half' ? 0.5 : 0.25)) * 1000, unit: true };
  }
  const joint = tokens[to]?.word === 'and' ? to + 1 : to;
  const rest = numberRun(tokens, joint);
  const more = rest && quantity(rest);
  if (!rest || !Number.isInteger(value)) return { to, ml: value * 1000, unit: true };
  const said = tokens[rest.to]?.word === 'ml';
  if (!said && /^(minutes|seconds|kg|grams|units)$/.test(tokens[rest.to]?.word ?? ''))
    return { to, ml: value * 1000, unit: true };
  to = rest.to + (said ? 1 : 0);
  const sure = more !== undefined && more < 1000 && (said || more >= 100);
  return sure ? { to, ml: value * 1000 + more, unit: true } : { to, unit: true, problem: 'unclear' };
}
