import { numberRun } from '../interpret/values/numbers.ts';
import { normalise, type Token } from '../interpret/words/normalise.ts';
import type { CodeInfo, UnitVocabulary, Vocabulary } from './vocabulary.ts';
import { WORDS } from './words.ts';

/** A phrase of a unit's own that may not be used, and why, to be read after the phrase: "it holds a side". */
export interface UnitFault {
  /** The code, role or drug that it was meant for. */
  of: string;
  phrase: string;
  why: string;
}

/** Question words that ask wherever they stand. */
const ASKS = /^(what|when|where|who|whose|why|which|how|whether)$/;
/** A fixed emergency-call number has so many digits. */
const CALL_NUMBER = { least: 3, most: 5 };

const tokensOf = (phrase: string): Token[] => normalise(phrase, WORDS);

const isSide = ({ word }: Token): boolean => word === 'left' || word === 'right';

function numbersIn(tokens: readonly Token[]): string {
  let digits = '';
  for (let at = 0; at < tokens.length; at += 1) {
    const run = numberRun(tokens, at);
    if (!run) continue;
    digits += run.parts.map((part) => (part.kind === 'int' ? part.digits : '?')).join('');
    at = run.to - 1;
  }
  return digits;
}

const isCallNumber = (digits: string): boolean =>
  /^\d+$/.test(digits) && digits.length >= CALL_NUMBER.least && digits.length <= CALL_NUMBER.most;

function asks(tokens: readonly Token[]): boolean {
  const first = tokens[0]?.word ?? '';
  const said = tokens.map(({ word }) => word).join(' ');
  return (
    WORDS.question.has(first) ||
    tokens.some(({ word, question }) => question || ASKS.test(word)) ||
    WORDS.tags.some((tag) => said.endsWith(` ${tag}`))
  );
}

/** The words of the wordings that the app has for a code: what its phrases turn on. */
function ownWords(code: string, builtIn: Vocabulary): Set<string> {
  const groups = builtIn.phrases.get(code) ?? [];
  return new Set(groups.flatMap(({ say }) => say.flatMap((line) => tokensOf(line).map(({ word }) => word))));
}

/** A word of the phrase that is the opposite of what the code says. */
function oppositeIn(tokens: readonly Token[], info: CodeInfo, builtIn: Vocabulary): string | undefined {
  const own = ownWords(info.code, builtIn);
  const opposites = builtIn.lookAlikes.opposites.flatMap(([one, other]) => [
    [one, other],
    [other, one],
  ]);
  const named = tokens.find(({ word }) =>
    opposites.some(([one, other]) => other === word && own.has(one!) && !own.has(word)),
  );
  if (named) return named.word;
  // A unit's own words carry no phase: "legs down now" would be logged as the manoeuvre itself.
  const ends = new Set([...WORDS.phases.stop.after, ...WORDS.phases.failed.after]);
  return info.phases.length > 0 ? tokens.find(({ word }) => ends.has(word))?.word : undefined;
}

const content = (tokens: readonly Token[]): string =>
  ` ${tokens
    .map(({ word }) => word)
    .filter((word) => !WORDS.light.has(word))
    .join(' ')} `;

const saidOf = new WeakMap<Vocabulary, { code: string; wording: string; said: string }[]>();

/** The wordings of the app in their content words, those of two words and more. */
function wordingsIn(builtIn: Vocabulary): { code: string; wording: string; said: string }[] {
  const known = saidOf.get(builtIn);
  if (known) return known;
  const all = [...builtIn.phrases].flatMap(([code, groups]) =>
    groups.flatMap(({ say }) => say.map((wording) => ({ code, wording, said: content(tokensOf(wording)) }))),
  );
  const made = all.filter(({ wording, said }) => !wording.includes('{') && said.trim().includes(' '));
  saidOf.set(builtIn, made);
  return made;
}

/** Why a phrase may not stand for a code, role or drug; undefined where it may. */
function faultIn(phrase: string, info: CodeInfo | undefined, builtIn: Vocabulary): string | undefined {
  const tokens = tokensOf(phrase);
  const side = tokens.find(isSide);
  if (side) return `it holds a side ("${side.word}")`;
  const denial = tokens.find(({ word }) => WORDS.negation.has(word));
  if (denial) return `it holds a negation ("${denial.word}")`;
  if (asks(tokens)) return 'it is a question';
  const digits = numbersIn(tokens);
  if (digits !== '' && !(info?.emergencyNumber && isCallNumber(digits))) return 'it holds a number';
  if (!info) return undefined;
  const opposite = oppositeIn(tokens, info, builtIn);
  if (opposite) return `it holds the opposite of what is logged ("${opposite}")`;
  const said = content(tokens);
  const other = wordingsIn(builtIn).find((one) => one.code !== info.code && said.includes(one.said));
  return (
    other && `it holds "${other.wording}", which means ${builtIn.codes.get(other.code)?.label ?? other.code}`
  );
}

/** Every phrase of a unit's own that contract rules on sides, numbers, negations, questions and opposites forbid. */
export function unitFaults(unit: UnitVocabulary, builtIn: Vocabulary): UnitFault[] {
  const faults: UnitFault[] = [];
  const check = (of: string, say: readonly string[], info?: CodeInfo): void => {
    for (const phrase of say) {
      const why = faultIn(phrase, info, builtIn);
      if (why) faults.push({ of, phrase, why });
    }
  };
  for (const [code, say] of Object.entries(unit.phrases ?? {})) {
    const own = unit.codes?.find((one) => one.code === code);
    check(code, say, builtIn.codes.get(code) ?? (own && asInfo(own.code, own.label)));
  }
  for (const { code, label, say } of unit.codes ?? []) check(code, say, asInfo(code, label));
  for (const { role, say } of unit.roles ?? []) check(role, say);
  for (const { drug, say } of unit.drugs ?? []) check(drug, say);
  return faults;
}

const asInfo = (code: string, label: string): CodeInfo => ({
  code,
  label,
  group: 'other',
  description: '',
  slots: [],
  phases: [],
  required: [],
  free: true,
});

/** The list without the phrases that may not be used; what is left without any phrase goes, too. */
export function withoutFaults(unit: UnitVocabulary, faults: readonly UnitFault[]): UnitVocabulary {
  const bad = new Set(faults.map(({ of, phrase }) => `${of}\n${phrase}`));
  const kept = (of: string, say: readonly string[]): string[] =>
    say.filter((one) => !bad.has(`${of}\n${one}`));
  const rows = <T extends { say: string[] }>(list: readonly T[], nameOf: (row: T) => string): T[] =>
    list.map((row) => ({ ...row, say: kept(nameOf(row), row.say) })).filter(({ say }) => say.length > 0);
  const phrases = Object.entries(unit.phrases ?? {})
    .map(([code, say]): [string, string[]] => [code, kept(code, say)])
    .filter(([, say]) => say.length > 0);
  return {
    ...unit,
    ...(unit.phrases ? { phrases: Object.fromEntries(phrases) } : {}),
    ...(unit.codes ? { codes: rows(unit.codes, ({ code }) => code) } : {}),
    ...(unit.roles ? { roles: rows(unit.roles, ({ role }) => role) } : {}),
    ...(unit.drugs ? { drugs: rows(unit.drugs, ({ drug }) => drug) } : {}),
  };
}

/** A fault as one sentence part: '"dont push now" (push): it holds a negation ("don't")'. */
export const faultText = ({ of, phrase, why }: UnitFault): string => `"${phrase}" (${of}): ${why}`;
