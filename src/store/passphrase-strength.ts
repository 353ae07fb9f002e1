import type { ZxcvbnFactory } from '@zxcvbn-ts/core';

export const SHORTEST_PASSPHRASE = 8;
/**
 * The least score of zxcvbn that is taken: 3 of 4, more than 10^8 guesses (D. L. Wheeler, zxcvbn: low-budget
 * password strength estimation, USENIX Security 2016). With the slow derivation of keyring.ts a guess costs
 * an attacker some 0.1 to 1 s of one processor's time.
 */
export const LEAST_SCORE = 3;
/** Taken where the estimate cannot be loaded: long enough to be no single word (project choice). */
const LONG_ENOUGH = 16;

export type Strength =
  | { kind: 'too-short'; shortest: number }
  /** `score` 0 to 4; `hints` in English, from the library, perhaps none. */
  | { kind: 'weak'; score: number; hints: string[] }
  | { kind: 'strong'; score: number };

let estimator: Promise<ZxcvbnFactory> | undefined;

/** The word lists are large, so they come only when somebody types a new passphrase. */
async function load(): Promise<ZxcvbnFactory> {
  const [core, common, english] = await Promise.all([
    import('@zxcvbn-ts/core'),
    import('@zxcvbn-ts/language-common'),
    import('@zxcvbn-ts/language-en'),
  ]);
  return new core.ZxcvbnFactory({
    dictionary: { ...common.dictionary, ...english.dictionary },
    graphs: common.adjacencyGraphs,
    translations: english.translations,
  });
}

/** How hard a new passphrase is to guess. Nothing of it leaves the device. */
export async function passphraseStrength(passphrase: string): Promise<Strength> {
  const length = [...passphrase].length;
  if (length < SHORTEST_PASSPHRASE) return { kind: 'too-short', shortest: SHORTEST_PASSPHRASE };
  estimator ??= load();
  let zxcvbn: ZxcvbnFactory;
  try {
    zxcvbn = await estimator;
  } catch {
    estimator = undefined;
    return length >= LONG_ENOUGH
      ? { kind: 'strong', score: LEAST_SCORE }
      : { kind: 'weak', score: 0, hints: [] };
  }
  // Longer ones take the estimate long and are no weaker.
  const { score, feedback } = zxcvbn.check(passphrase.slice(0, 100), ['utterlog']);
  if (score >= LEAST_SCORE) return { kind: 'strong', score };
  return { kind: 'weak', score, hints: [feedback.warning ?? '', ...feedback.suggestions].filter(Boolean) };
}
