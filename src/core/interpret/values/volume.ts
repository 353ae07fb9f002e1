import type { Token } from '../words/normalise.ts';
import { numberRun, quantity } from './numbers.ts';
import { runTogether } from './quantity-words.ts';

/** A volume as it was said; `unit`: whether a unit was. */
export interface Volume {
  to: number;
  ml?: number;
  unit: boolean;
  problem?: 'unclear' | 'unit-missing';
}

export function volumeAt(tokens: readonly Token[], at: number): Volume | undefined {
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
