import type { Token } from '../words/normalise.ts';
import { numberRun, wholeNumbers, type NumberRun } from './numbers.ts';
import { VAGUE_BEFORE, type TimeSpan } from './time-span.ts';

/** A number with one of these is no clock time. */
const UNIT_AFTER = /^(minutes|seconds|ml|litre|kg|grams|lb|oz|cm|percent|weeks|units|mg|mcg|kpa|mmhg)$/;

const two = (value: number): string => String(value).padStart(2, '0');

/** Hours and minutes from "fourteen thirty two", "two thirty five", "oh three fifteen", "twelve oh five", "14:32". */
function clockOf(run: NumberRun, hundredHours: boolean): string | undefined {
  const values = wholeNumbers(run);
  if (!values) {
    const [hour, , minutes] = run.parts as { digits?: string; value?: number }[];
    // Whisper writes a clock time with a point now and then: "at 14.32".
    if (run.parts.length === 3 && minutes?.digits?.length === 2 && hour?.value! < 24 && minutes.value! < 60)
      return `${two(hour!.value!)}:${minutes.digits}`;
    return undefined;
  }
  let hour: number;
  let minutes: number;
  const digits = run.parts.map((part) => (part.kind === 'int' ? part.digits : ''));
  if (values.length === 1 && digits[0]!.length === 4)
    [hour, minutes] = [Math.floor(values[0]! / 100), values[0]! % 100];
  else if (
    values.length === 1 &&
    values[0]! >= 100 &&
    values[0]! % 100 === 0 &&
    values[0]! <= 2300 &&
    hundredHours
  )
    [hour, minutes] = [values[0]! / 100, 0];
  else if (values.length === 2 && values[1]! >= 10) [hour, minutes] = [values[0]!, values[1]!];
  else if (values.length === 2 && digits[1]!.length === 2) [hour, minutes] = [values[0]!, values[1]!];
  else if (values.length === 3 && values[0] === 0 && values[2]! >= 10)
    [hour, minutes] = [values[1]!, values[2]!];
  else if (values.length === 3 && values[1] === 0 && values[2]! < 10)
    [hour, minutes] = [values[0]!, values[2]!];
  else if (values.length === 4 && values[0] === 0 && values[2] === 0)
    [hour, minutes] = [values[1]!, values[3]!];
  else if (values.length === 4 && values.every((value) => value < 10))
    [hour, minutes] = [values[0]! * 10 + values[1]!, values[2]! * 10 + values[3]!];
  else return undefined;
  return hour < 24 && minutes < 60 ? `${two(hour)}:${two(minutes)}` : undefined;
}

/** "at fourteen thirty two", "time fourteen thirty", "half past two", "ten past three". */
export function clock(tokens: readonly Token[], at: number): TimeSpan | undefined {
  let from = at;
  const lead = tokens[from]?.word;
  const needsLead = lead === 'at' || lead === 'time' || lead === 'timed';
  if (!needsLead) return undefined;
  from += 1;
  const vague = VAGUE_BEFORE.has(tokens[from]?.word ?? '');
  if (vague) from += 1;
  if (tokens[from]?.word === 'at') from += 1;
  const spoken = pastTo(tokens, from);
  if (spoken)
    return {
      from: at,
      to: spoken.to,
      ...(vague || spoken.clock === undefined ? {} : { time: { clock: spoken.clock } }),
    };
  const colon = tokens[from + 1]?.word === 'colon';
  const run: NumberRun | undefined = colon ? colonRun(tokens, from) : numberRun(tokens, from);
  if (!run) return undefined;
  let { to } = run;
  // "at five minutes", "at one minute of age" belong to a score, "at two hundred mils" to a volume.
  if (UNIT_AFTER.test(tokens[to]?.word ?? '')) return undefined;
  const bare = wholeNumbers(run);
  const oneShort = bare?.length === 1 && run.parts[0]?.kind === 'int' && run.parts[0].digits.length < 3;
  const hourWord = tokens[to]?.word === 'hours' && !oneShort;
  const sharp = tokens[to]?.word === "o'clock";
  if (oneShort && !sharp && !/^(am|pm)$/.test(tokens[to]?.word ?? '')) return undefined;
  if (hourWord || sharp) to += 1;
  const half = /^(am|pm)$/.exec(tokens[to]?.word ?? '')?.[1];
  if (half) to += 1;
  const value = oneShort ? onTheHour(bare[0]!) : clockOf(run, hourWord);
  if (vague || value === undefined) return { from: at, to };
  return { from: at, to, time: { clock: half ? withHalf(value, half) : value } };
}

const onTheHour = (hour: number): string | undefined => (hour < 24 ? `${two(hour)}:00` : undefined);

function withHalf(value: string, half: string): string {
  const hour = Number(value.slice(0, 2));
  if (hour > 12) return value;
  return `${two(half === 'pm' ? (hour % 12) + 12 : hour % 12)}${value.slice(2)}`;
}

function colonRun(tokens: readonly Token[], at: number): NumberRun | undefined {
  const hour = tokens[at]?.word ?? '';
  const minutes = tokens[at + 2]?.word ?? '';
  if (!/^\d{1,2}$/.test(hour) || !/^\d{2}$/.test(minutes)) return undefined;
  return {
    from: at,
    to: at + 3,
    parts: [
      { kind: 'int', value: Number(hour), digits: hour },
      { kind: 'int', value: Number(minutes), digits: minutes },
    ],
  };
}

/** "half past two", "ten past three", "quarter to four". */
function pastTo(tokens: readonly Token[], at: number): { to: number; clock?: string } | undefined {
  let from = at;
  if (tokens[from]?.word === 'a') from += 1;
  let minutes: number | undefined;
  const word = tokens[from]?.word;
  if (word === 'half') [minutes, from] = [30, from + 1];
  else if (word === 'quarter') [minutes, from] = [15, from + 1];
  else {
    const run = numberRun(tokens, from);
    const values = run && wholeNumbers(run);
    if (!run || values?.length !== 1) return undefined;
    [minutes, from] = [values[0]!, run.to];
    if (tokens[from]?.word === 'minutes') from += 1;
  }
  const direction = tokens[from]?.word;
  if (direction !== 'past' && direction !== 'to') return undefined;
  const run = numberRun(tokens, from + 1);
  const values = run && wholeNumbers(run);
  if (!run || values?.length !== 1 || values[0]! > 24 || minutes > 59) return undefined;
  const hour = direction === 'past' ? values[0]! : (values[0]! + 23) % 24;
  return { to: run.to, clock: `${two(hour % 24)}:${two(direction === 'past' ? minutes : 60 - minutes)}` };
}

/** "time of birth fourteen thirty two": the words before say that a clock follows. */
function clockIsDue(tokens: readonly Token[], at: number): boolean {
  let from = at - 1;
  while (from > 0 && /^(is|was|'s|at|the|body|baby|now)$/.test(tokens[from]!.word)) from -= 1;
  const before = tokens
    .slice(Math.max(0, from - 2), from + 1)
    .map(({ word }) => word)
    .join(' ');
  return /(time of (birth|delivery)|birth time|delivery time)$/.test(before);
}

/**
 * A clock time without "at": after "time of birth", or said in full ("fourteen thirty two", "twelve oh five").
 * Single digits in a row ("two two two two") and years ("in twenty nineteen") are none.
 */
export function bareClockAt(tokens: readonly Token[], at: number): TimeSpan | undefined {
  const run = tokens[at + 1]?.word === 'colon' ? colonRun(tokens, at) : numberRun(tokens, at);
  if (!run || numberRun(tokens, at - 1) || tokens[at - 1]?.word === 'in') return undefined;
  if (UNIT_AFTER.test(tokens[run.to]?.word ?? '')) return undefined;
  const due = clockIsDue(tokens, at);
  const values = wholeNumbers(run);
  const full = values !== undefined && values.length >= 2 && values.length <= 3 && values[0]! >= 10;
  const hundred = values?.length === 1 && values[0]! >= 100 && tokens[run.to]?.word === 'hours';
  if (!due && !full && !hundred) return undefined;
  const value = clockOf(run, due || hundred);
  if (value === undefined) return due ? { from: at, to: run.to } : undefined;
  const hours = tokens[run.to]?.word === 'hours' ? run.to + 1 : run.to;
  const half = /^(am|pm)$/.exec(tokens[hours]?.word ?? '')?.[1];
  return half
    ? { from: at, to: hours + 1, time: { clock: withHalf(value, half) } }
    : { from: at, to: hours, time: { clock: value } };
}
