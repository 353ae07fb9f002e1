import data from './guards.json' with { type: 'json' };

/** Most tokens that speech of this length may give (speechMs in ms). Measured: tests/asr and `npm run bench`. */
export function tokenBound(speechMs: number): number {
  return Math.ceil(data.tokensAtLeast + (data.tokensPerSecond * speechMs) / 1000);
}

/**
 * Where a reading began to go round in circles: the length to cut it to (the phrase once), or null.
 * A phrase of at least `tokens` tokens said `times` times running counts; people do say "push, push, push".
 */
export function loopStart(ids: readonly number[]): number | null {
  const longest = Math.floor(ids.length / 2);
  for (let size = 1; size <= longest; size++) {
    const rule = data.repeats.findLast((rule) => size >= rule.tokens)!;
    if (ids.length < size * rule.times) continue;
    const from = ids.length - size * rule.times;
    let same = true;
    for (let k = from; same && k + size < ids.length; k++) same = ids[k] === ids[k + size];
    if (same) return from + size;
  }
  return null;
}
