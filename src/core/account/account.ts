import { openMatters } from '../desk/open-matters.ts';
import type { Entry } from '../entry.ts';
import type { Facts } from '../facts/derive.ts';
import { knownText, logged } from '../facts/logged.ts';
import { isSealed } from '../log/after-signing.ts';
import { hashOfText } from '../log/chain.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import { timeText } from '../note/times.ts';
import data from './sentences.json';

interface Wording {
  code: string;
  /** The entry must hold these values. */
  slots?: Record<string, unknown>;
  /** The entry must hold a value in each of these. */
  needs?: string[];
  say: string;
}
const WORDINGS = data.sentences as Wording[];
const ROLES: Record<string, string> = data.roles;

/** One sentence of the account and the entries that it rests on: never none. */
export interface AccountLine {
  atMs: number;
  /** "14:02:10", with the date where the day has changed. */
  time: string;
  text: string;
  entryIds: string[];
}

export interface Account {
  /** In the order of their times. */
  lines: AccountLine[];
  /** How long it took from the head to the body, where both are known. */
  headToBody: AccountLine | null;
  /** Entries that no plain sentence stands for; told to the clinician, not to the parents. */
  leftOut: EntryView[];
  /** Typed fields that name staff, in words as typed; shown only where it is chosen. */
  staff: string[];
}

/** What stands in a released account beside the sentences. */
export interface AccountChoices {
  /** The clinician's own words; '' where there are none. */
  ownWords: string;
  staffNames: boolean;
}

/** Why no account is made just now: it comes only from a signed record in which nothing is open. */
export function accountProblem(
  view: RecordView,
  facts: Pick<Facts, 'conflicts' | 'sides'>,
): 'unsigned' | 'open' | null {
  if (!isSealed(view)) return 'unsigned';
  return openMatters(view, facts).length > 0 ? 'open' : null;
}

/**
 * The account for the parents: for each entry that stands a plain sentence with its time, and nothing else. Pure: no
 * sentence without an entry, no value that is not in one.
 */
export function accountOf(view: RecordView, facts: Pick<Facts, 'intervals'>): Account {
  const lines: AccountLine[] = [];
  const leftOut: EntryView[] = [];
  for (const entry of logged(view)) {
    const text = sentenceOf(entry.entry);
    if (text === null) {
      leftOut.push(entry);
      continue;
    }
    const last = lines.at(-1);
    const time = timeText(view, entry.atMs);
    // Said again in other words: one sentence, both entries.
    if (last?.text === text && last.time === time) last.entryIds.push(entry.entryId);
    else lines.push({ atMs: entry.atMs, time, text, entryIds: [entry.entryId] });
  }
  return {
    lines,
    headToBody: lengthLine(view, facts),
    leftOut,
    staff: data.names.flatMap((field) =>
      Object.hasOwn(view.fields, field) ? [view.fields[field]!.value] : [],
    ),
  };
}

function lengthLine(view: RecordView, { intervals }: Pick<Facts, 'intervals'>): AccountLine | null {
  const found = intervals.find(({ id }) => id === 'head-to-body');
  if (found?.value.kind !== 'known') return null;
  const atMs = found.inputs[0]!.atMs!;
  const length =
    found.value.byDeviceClockSeconds === undefined
      ? inWords(found.value.seconds)
      : `${knownText(found.value)} (minutes and seconds)`;
  return {
    atMs,
    time: timeText(view, atMs),
    text: `From the birth of the head to the birth of your baby it took ${length}.`,
    entryIds: found.entryIds,
  };
}

function inWords(seconds: number): string {
  const part = (count: number, unit: string) => `${count} ${unit}${count === 1 ? '' : 's'}`;
  const [minutes, rest] = [Math.floor(seconds / 60), seconds % 60];
  if (minutes === 0) return part(rest, 'second');
  return rest === 0 ? part(minutes, 'minute') : `${part(minutes, 'minute')} and ${part(rest, 'second')}`;
}

/** The plain sentence for an entry, or null where there is none for it. */
export function sentenceOf(entry: Entry): string | null {
  const values = entry as unknown as Record<string, unknown>;
  const wording = WORDINGS.find(
    ({ code, slots = {}, needs = [] }) =>
      code === entry.code &&
      Object.entries(slots).every(([slot, value]) => values[slot] === value) &&
      needs.every((slot) => values[slot] !== undefined),
  );
  if (wording === undefined) return null;
  const role = ROLES[entry.role ?? ''];
  if (/\{role\}/i.test(wording.say) && role === undefined) return null;
  return wording.say
    .replace('{role}', role ?? '')
    .replace(
      '{Role}',
      (role ?? '').replace(/^./, (letter) => letter.toUpperCase()),
    )
    .replace(/\{(\w+)\}/g, (_whole, slot: string) => String(values[slot]))
    .replace(/\bAt 1 minutes\b/, 'At 1 minute');
}

/** Everything that a released account says, one line each: what its hash is of. */
export function accountText(account: Account, { ownWords, staffNames }: AccountChoices): string {
  const { headToBody, lines, staff } = account;
  return [
    ...lines.map(({ time, text }) => `${time} ${text}`),
    ...(headToBody === null ? [] : [headToBody.text]),
    ...(ownWords.trim() === '' ? [] : [ownWords.trim()]),
    ...(staffNames ? staff : []),
  ].join('\n');
}

export const accountHash = (account: Account, choices: AccountChoices): string =>
  hashOfText(accountText(account, choices));
