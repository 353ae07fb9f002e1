/** Mean energy of samples, dB relative to full scale. */
export function powerDb(samples: Float32Array): number {
  let sum = 0;
  for (const value of samples) sum += value * value;
  return 10 * Math.log10(sum / samples.length + 1e-10);
}

/** The level of several stretches as long as each other, taken together, dB. */
export const meanDb = (levelsDb: readonly number[]): number =>
  10 * Math.log10(levelsDb.reduce((sum, db) => sum + 10 ** (db / 10), 0) / levelsDb.length);
