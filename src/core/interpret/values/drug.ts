import type { Entry } from '../../entry.ts';
import type { Compiled } from '../sentence/compile.ts';
import type { Problem } from '../interpretation.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { bareClockAt } from './clock-times.ts';
import data from './dose.json';
import { numberRun, quantity, wordsOf, type NumberRun } from './numbers.ts';
import { timeAt } from './times.ts';
import { matchesAt, NONE } from '../words/trie.ts';

type Unit = NonNullable<Entry['unit']>;
type Route = NonNullable<Entry['route']>;

const UNITS = new Map(Object.entries(data.units) as [string, Unit][]);
const ROUTES = new Map(Object.entries(data.routes) as [string, Route][]);
const LONGEST = 4;
const phrases = (list: readonly string[]): ReadonlySet<string> => new Set(list);
const [FORMS, RATES, PLACES, NO_DRUG] = [data.forms, data.rates, data.places, data.noDrug].map(phrases) as [
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
];
const UNSAID = phrases(data.unsaid);
const [GIVEN, AFTER_DRUG, NOT_BEFORE, RUNNING, ORDER, FILLERS, WEAK] = [
  data.given,
  data.givenAfterDrug,
  data.noGivenBefore,
  data.runningAfterDose,
  data.order,
  data.fillers,
  data.alsoSaidOfOtherThings,
].map(phrases) as [
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
  ReadonlySet<string>,
];

/** The end of the longest phrase of a list that begins at a place; the place itself where there is none. */
function endOf(tokens: readonly Token[], at: number, list: { has(phrase: string): boolean }): number {
  for (let length = LONGEST; length > 0; length -= 1) {
    const said = tokens.slice(at, at + length).map(({ word }) => word);
    if (said.length === length && list.has(said.join(' '))) return at + length;
  }
  return at;
}

const said = (tokens: readonly Token[], from: number, to: number): string =>
  tokens
    .slice(from, to)
    .map(({ word }) => word)
    .join(' ');

/** "two fifty" of a dose is 250; nobody gives 2050 of anything by saying so. */
function amountOf(run: NumberRun): number | undefined {
  const exact = quantity(run);
  if (exact !== undefined) return exact;
  const [hundreds, rest] = run.parts;
  const short =
    run.parts.length === 2 &&
    hundreds?.kind === 'int' &&
    rest?.kind === 'int' &&
    hundreds.digits.length === 1 &&
    rest.digits.length === 2 &&
    hundreds.value > 0;
  return short ? hundreds.value * 100 + rest.value : undefined;
}

/** What is said of one drug, word by word. */
interface Stretch {
  from: number;
  to: number;
  /** Where the last word that counts ends. */
  end: number;
  drug?: string;
  dose: string[];
  amount?: number;
  unit?: Unit;
  route?: Route;
  /** A number whose unit is not said yet. */
  bare: boolean;
  /** A unit that is said of other things, too, and nothing else. */
  weak: boolean;
  given: boolean;
  order: boolean;
  unclear: boolean;
  running: boolean;
}

const start = (at: number): Stretch => ({
  from: at,
  to: at,
  end: at,
  dose: [],
  bare: false,
  weak: true,
  given: false,
  order: false,
  unclear: false,
  running: false,
});

function take(so: Stretch, tokens: readonly Token[], to: number, dose = false): true {
  // "IM's in": the verb is no part of the dose.
  if (dose) so.dose.push(wordsOf(tokens, so.to, to).replace(/'s$/, ''));
  so.to = so.end = to;
  return true;
}

function takeDrug(so: Stretch, tokens: readonly Token[], compiled: Compiled): boolean {
  const named = matchesAt(compiled.drugs, tokens, so.to, NONE).sort((a, b) => b.to - a.to)[0];
  if (!named || (so.drug !== undefined && so.drug !== named.meaning)) return false;
  so.drug = named.meaning;
  return take(so, tokens, named.to);
}

/** "ten units", "a gram", "one amp", "two fifty" before a route or a drug, "thirty in five hundred". */
function takeAmount(so: Stretch, tokens: readonly Token[], compiled: Compiled): boolean {
  const article = tokens[so.to]?.word === 'a' || tokens[so.to]?.word === 'an';
  const run = numberRun(tokens, so.to);
  if (!run && !article) return false;
  const after = run ? run.to : so.to + 1;
  const unitTo = endOf(tokens, after, UNITS);
  const formTo = endOf(tokens, after, FORMS);
  const value = run ? amountOf(run) : 1;
  if (unitTo > after) {
    const name = said(tokens, after, unitTo);
    const rate = endOf(tokens, unitTo, RATES);
    so.unclear ||= so.amount !== undefined || so.unit !== undefined || value === undefined;
    if (rate === unitTo && value !== undefined) [so.amount, so.unit] = [value, UNITS.get(name)];
    so.weak &&= WEAK.has(name);
    so.bare = false;
    return take(so, tokens, rate, true);
  }
  if (formTo > after) {
    so.weak = false;
    return take(so, tokens, formTo, true);
  }
  return run ? takeBare(so, tokens, run, value, compiled) : false;
}

/** A number alone is a dose only beside a drug or a route. */
function takeBare(
  so: Stretch,
  tokens: readonly Token[],
  run: NumberRun,
  value: number | undefined,
  compiled: Compiled,
): boolean {
  if (so.dose.length > 0 || bareClockAt(tokens, so.to)) return false;
  const of = tokens[run.to]?.word === 'of' ? run.to + 1 : run.to;
  const beside =
    endOf(tokens, run.to, ROUTES) > run.to ||
    matchesAt(compiled.drugs, tokens, of, NONE).length > 0 ||
    (so.drug !== undefined && !so.given) ||
    diluent(tokens, run.to) > run.to;
  if (!beside) return false;
  so.bare = true;
  if (value !== undefined) so.amount = value;
  return take(so, tokens, run.to, true);
}

/** "in a litre", "in five hundred (mils)": what it is dissolved in. */
function diluent(tokens: readonly Token[], at: number): number {
  if (!/^(in|into)$/.test(tokens[at]?.word ?? '')) return at;
  if (tokens[at + 1]?.word === 'a' && tokens[at + 2]?.word === 'litre') return at + 3;
  const run = numberRun(tokens, at + 1);
  if (!run || /^(minutes|seconds|hours)$/.test(tokens[run.to]?.word ?? '')) return at;
  return /^(ml|litre)$/.test(tokens[run.to]?.word ?? '') ? run.to + 1 : run.to;
}

function takeRoute(so: Stretch, tokens: readonly Token[]): boolean {
  const anything = so.drug !== undefined || so.dose.length > 0;
  const routeTo = endOf(tokens, so.to, ROUTES);
  if (routeTo > so.to && anything && endOf(tokens, routeTo, NO_DRUG) === routeTo) {
    const route = ROUTES.get(said(tokens, so.to, routeTo));
    so.unclear ||= so.route !== undefined && so.route !== route;
    so.route = route;
    so.weak = false;
    return take(so, tokens, routeTo, true);
  }
  const placeTo = endOf(tokens, so.to, PLACES);
  if (placeTo > so.to && anything) return take(so, tokens, placeTo, so.dose.length > 0);
  const dissolved = so.dose.length > 0 ? diluent(tokens, so.to) : so.to;
  return dissolved > so.to && take(so, tokens, dissolved, true);
}

function takeHow(so: Stretch, tokens: readonly Token[]): boolean {
  const { word } = tokens[so.to]!;
  const next = tokens[so.to + 1]?.word ?? '';
  const anything = so.drug !== undefined || so.dose.length > 0;
  if (GIVEN.has(word) || (so.drug !== undefined && AFTER_DRUG.has(word) && !NOT_BEFORE.has(next)))
    so.given = true;
  else if (so.dose.length > 0 && RUNNING.has(word)) {
    so.running = so.given = true;
    return take(so, tokens, so.to + 1, true);
  } else if (ORDER.has(word) && !anything) so.order = true;
  else return false;
  return take(so, tokens, so.to + 1);
}

/** Drug, dose and route in one call-out tell that it went in, unless somebody asks for it or gets it ready. */
const announced = ({ dose, route }: Stretch, tokens: readonly Token[]): boolean =>
  dose.length > 1 && route !== undefined && !tokens.some(({ word }) => UNSAID.has(word));

function problemOf(so: Stretch, tokens: readonly Token[]): Problem | undefined {
  if (so.drug === undefined) return 'drug-missing';
  if (so.bare) return 'unit-missing';
  const gave = so.given || announced(so, tokens);
  return so.unclear || so.order || !gave ? 'unclear' : undefined;
}

/**
 * A drug by any of its names, with dose and route as spoken where they were said. Only "given" and the like say
 * that it went in; a name alone, an order, or a dose alone is a question, and so is a dose without its drug or unit.
 */
export function drugAt(tokens: readonly Token[], at: number, compiled: Compiled): Measured | undefined {
  const { word } = tokens[at]!;
  const opens =
    word === 'a' && (endOf(tokens, at + 1, UNITS) > at + 1 || numberRun(tokens, at) !== undefined);
  if (FILLERS.has(word) && !opens && word !== 'injection') return undefined;
  const so = start(at);
  while (so.to < tokens.length) {
    if (so.to > at && timeAt(tokens, so.to)) break;
    if (
      takeDrug(so, tokens, compiled) ||
      takeAmount(so, tokens, compiled) ||
      takeRoute(so, tokens) ||
      takeHow(so, tokens)
    )
      continue;
    if (!FILLERS.has(tokens[so.to]!.word)) break;
    so.to += 1;
  }
  if (so.drug === undefined && !speaksOfADrug(so, tokens)) return undefined;
  const { drug, dose, amount, unit, route } = so;
  const entry: Entry = {
    code: 'drug-given',
    ...(drug === undefined ? {} : { drug }),
    ...(dose.length > 0 ? { dose: dose.join(' ') } : {}),
    ...(amount === undefined || so.unclear ? {} : { amount }),
    ...(unit === undefined || so.unclear ? {} : { unit }),
    ...(route === undefined || so.unclear ? {} : { route }),
  };
  const problem = problemOf(so, tokens);
  return { from: at, to: so.end, entries: [entry], ...(problem ? { problem } : {}) };
}

/** A dose without a drug: only where its unit, its route or "given" tell it from other amounts. */
const speaksOfADrug = (so: Stretch, tokens: readonly Token[]): boolean =>
  so.dose.length > 0 &&
  endOf(tokens, so.end, NO_DRUG) === so.end &&
  (!so.weak || so.given || so.route !== undefined) &&
  (!so.bare || so.route !== undefined || so.running);
