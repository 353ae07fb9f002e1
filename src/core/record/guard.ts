import type { Problem } from './problem.ts';

/** Far above any record (10,000 entries make about 10 MB), and small enough to be read in one go. */
const MOST_CHARACTERS = 64 * 1024 * 1024;
/** A record nests 7 deep; the rest is room for later versions. */
const MOST_DEPTH = 24;
const FORBIDDEN_KEYS = new Set(['__proto__', 'constructor', 'prototype']);

/** Size and nesting of the text, found without parsing it. */
export function textProblem(text: string): Problem | null {
  if (text.length > MOST_CHARACTERS)
    return { place: 'the whole file', why: 'it is larger than a record can be' };
  if (text.trim() === '') return { place: 'the whole file', why: 'it is empty' };
  let depth = 0;
  let line = 1;
  let quoted = false;
  for (let at = 0; at < text.length; at += 1) {
    const sign = text.charCodeAt(at);
    if (sign === 10) line += 1;
    if (quoted) {
      if (sign === 92) at += 1;
      else if (sign === 34) quoted = false;
    } else if (sign === 34) quoted = true;
    else if (sign === 91 || sign === 123) {
      depth += 1;
      if (depth > MOST_DEPTH)
        return { place: `line ${line}`, why: 'it is nested deeper than a record can be' };
    } else if (sign === 93 || sign === 125) depth -= 1;
  }
  return null;
}

/** A key that would reach into the language itself. */
export function keyProblem(value: unknown, place = ''): Problem | null {
  if (typeof value !== 'object' || value === null) return null;
  for (const key of Object.keys(value)) {
    const there = `${place}/${key}`;
    if (FORBIDDEN_KEYS.has(key)) return { place: there, why: `the key "${key}" has no place in a record` };
    const inside = keyProblem((value as Record<string, unknown>)[key], there);
    if (inside !== null) return inside;
  }
  return null;
}
