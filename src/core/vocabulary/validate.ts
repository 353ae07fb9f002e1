import type { Vocabulary } from './vocabulary.ts';
import { WORDS } from './words.ts';

export const plain = (phrase: string): string =>
  phrase
    .toLowerCase()
    .replace(/[^a-z0-9' {}]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();

/** Without fillers: the lists hold each wording once, and "the head's out" says what "head out" says. */
export function bareWords(plainPhrase: string): string {
  const words = plainPhrase
    .replaceAll("'s", " 's")
    .split(' ')
    .filter((word) => !WORDS.light.has(word));
  return words.length > 1 ? words.join(' ') : plainPhrase;
}

const wordingsOf = ({ phrases, ambiguous, roles, drugs }: Vocabulary): string[] =>
  [...[...phrases.values()].flat(), ...ambiguous, ...roles, ...drugs].flatMap(({ say }) => say);

/**
 * Every fault of a vocabulary as a sentence part; empty when it is sound.
 * @param builtIn the shipped vocabulary, when `vocabulary` carries a unit's additions: they may not take over its names.
 */
export function vocabularyErrors(vocabulary: Vocabulary, builtIn?: Vocabulary): string[] {
  const errors: string[] = [];
  const owner = new Map<string, string>();
  /** Some shipped wordings differ in their fillers alone ("that's the anterior shoulder"); a unit's may not. */
  const shipped = builtIn && new Set(wordingsOf(builtIn));
  const ownerOfBare = new Map<string, string>();
  const claim = (phrase: string, by: string) => {
    const key = plain(phrase);
    if (key === '') errors.push(`${by} has an empty wording`);
    let other = owner.get(key);
    if (shipped) {
      const short = bareWords(key);
      if (!shipped.has(phrase)) other ??= ownerOfBare.get(short);
      if (!ownerOfBare.has(short)) ownerOfBare.set(short, by);
    }
    if (other && other !== by) errors.push(`"${phrase}" means both ${other} and ${by}`);
    owner.set(key, by);
  };
  for (const [code, groups] of vocabulary.phrases) {
    const info = vocabulary.codes.get(code);
    if (!info) errors.push(`there is no code "${code}"`);
    for (const { set, say } of groups) {
      if (say.length === 0) errors.push(`${code} has an empty list of wordings`);
      say.forEach((phrase) => claim(phrase, `${code}${set ? ` ${JSON.stringify(set)}` : ''}`));
      for (const slot of Object.keys(set ?? {})) {
        const known =
          slot === 'spoken'
            ? true
            : slot === 'phase'
              ? info?.phases.includes(set!.phase!)
              : info?.slots.includes(slot as never);
        if (info && !known) errors.push(`${code} has no slot "${slot}" with that value`);
      }
    }
  }
  for (const { say, entries, alternatives } of vocabulary.ambiguous) {
    say.forEach((phrase) => claim(phrase, `a question about ${entries[0]?.code ?? 'nothing'}`));
    for (const entry of [...entries, ...alternatives.flatMap((other) => other.entries)]) {
      if (!vocabulary.codes.has(entry.code)) errors.push(`there is no code "${entry.code}"`);
    }
  }
  const names = new Set<string>();
  for (const { role, say } of vocabulary.roles) {
    if (names.has(role)) errors.push(`the role "${role}" stands twice`);
    names.add(role);
    if (say.length === 0) errors.push(`the role "${role}" has no wording`);
    say.forEach((phrase) => claim(phrase, `role ${role}`));
  }
  for (const { drug, say } of vocabulary.drugs) {
    if (names.has(drug)) errors.push(`the drug "${drug}" stands twice`);
    names.add(drug);
    if (say.length === 0) errors.push(`the drug "${drug}" has no wording`);
    say.forEach((phrase) => claim(phrase, `drug ${drug}`));
  }
  for (const info of vocabulary.codes.values()) {
    if (builtIn && info.free && builtIn.codes.has(info.code)) errors.push(`the code "${info.code}" is taken`);
    if (!/^[a-z0-9]+(-[a-z0-9]+)*$/.test(info.code))
      errors.push(`"${info.code}" is no code: use small letters, digits and hyphens`);
    if (info.label.trim() === '') errors.push(`the code "${info.code}" has no label`);
  }
  for (const { codes } of vocabulary.lookAlikes.pairs) {
    codes
      .filter((code) => !vocabulary.codes.has(code))
      .forEach((code) => errors.push(`there is no code "${code}"`));
  }
  return errors;
}
