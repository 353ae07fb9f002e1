import type { LogEvent } from './events.ts';

/**
 * Characters that nobody sees and that can turn or hide what is seen: format and control characters (Unicode general
 * categories Cf and Cc) but line breaks and tabs, line and paragraph separators, halves of a pair, and letters that
 * are drawn as nothing.
 */
const UNSEEN =
  /(?![\n\r\t])[\p{Cf}\p{Cc}\p{Zl}\p{Zp}\p{Cs}\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180d\u180f\u2800\u3164\uffa0]/gu;
/** Letters that are written from right to left (Unicode Bidi_Class R and AL, by their blocks). */
const LETTER = '[\\u0590-\\u08ff\\ufb1d-\\ufdff\\ufe70-\\ufefc\\u{10800}-\\u{10fff}\\u{1e800}-\\u{1efff}]';
const RUN = `${LETTER}(?:[\\p{M}\\p{Zs}]*${LETTER})*\\p{M}*`;
const RUNS = new RegExp(RUN, 'gu');
const ISOLATED_RUNS = new RegExp(`\\u2068(${RUN})\\u2069`, 'gu');
/** Whether there is anything to do at all: nearly never. */
const SUSPECT = new RegExp(`${UNSEEN.source}|${LETTER}`, 'u');

const named = (sign: string) => `[U+${sign.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0')}]`;

/**
 * A text as it is shown: what cannot be seen stands in it by its number, "[U+202E]", and words that are written from
 * right to left are isolated (U+2068, U+2069), so that they turn nothing around them. The text of a text is the same.
 * Source: Unicode Standard Annex 9, explicit directional isolates.
 */
export function legible(text: string): string {
  if (!SUSPECT.test(text)) return text;
  return text.replace(ISOLATED_RUNS, '$1').replace(UNSEEN, named).replace(RUNS, '\u2068$&\u2069');
}

function legibleValue(value: unknown): unknown {
  if (typeof value === 'string') return legible(value);
  if (typeof value !== 'object' || value === null) return value;
  let changed = false;
  const made = Object.entries(value).map(([key, inner]) => {
    const shown = legibleValue(inner);
    changed ||= shown !== inner;
    return [key, shown] as const;
  });
  if (!changed) return value;
  return Array.isArray(value) ? made.map(([, inner]) => inner) : Object.fromEntries(made);
}

const known = new WeakMap<LogEvent, LogEvent>();
/** An event with its texts as they are shown; the event itself where there is nothing to show otherwise. */
export function legibleEvent(event: LogEvent): LogEvent {
  const before = known.get(event);
  if (before !== undefined) return before;
  const shown = legibleValue(event) as LogEvent;
  known.set(event, shown);
  return shown;
}
