/** Cuts a decoder's endless repeats to one; `looped` tells that there were any. */
export function cutLoops(text: string): { text: string; looped: boolean } {
  const words = text.trim().split(/\s+/).filter(Boolean);
  const plain = words.map((word) => word.toLowerCase().replace(/[^a-z0-9']/g, ''));
  let looped = false;
  for (let at = 0; at < words.length; at += 1) {
    for (let length = 1; length <= Math.min(10, (words.length - at) / 3); length += 1) {
      let repeats = 1;
      while (
        repeats * length + at + length <= words.length &&
        plain.slice(at, at + length).every((word, offset) => word === plain[at + repeats * length + offset])
      )
        repeats += 1;
      // People say "push push push" or "two two two two"; a decoder says the same thing again and again.
      if (repeats >= (length === 1 ? 6 : 4)) {
        words.splice(at + length, (repeats - 1) * length);
        plain.splice(at + length, (repeats - 1) * length);
        looped = true;
      }
    }
  }
  return { text: words.join(' '), looped };
}
