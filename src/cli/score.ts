import type { Entry } from '../core/entry.ts';
import { median, poisson, quantile, wilson } from '../lab/statistics.ts';

/** An entry with the time at which its speech began, where that is known; ms from the start of the recording. */
export interface TimedEntry {
  entry: Entry;
  onsetMs?: number;
}

/** What one recording should give and what it gave. */
export interface Trial {
  name: string;
  audioMs: number;
  expected: TimedEntry[];
  accepted: TimedEntry[];
  asked: Entry[];
}

interface Share {
  count: number;
  of: number;
  share: number;
  low: number;
  high: number;
}

export interface Score {
  recordings: number;
  audioMs: number;
  /** Of the entries that were spoken: accepted as spoken; asked about; wrong in code or slot; without a trace. */
  right: Share;
  asked: Share;
  wrong: Share;
  missed: Share;
  /** Entries accepted beyond those spoken, in recordings with call-outs. */
  surplus: number;
  /** Of the slots of accepted entries with the right code. */
  slots: Share;
  /** Accepted entries in recordings that must log nothing. */
  falseEntries: { count: number; hours: number; perHour: number; low: number; high: number };
  confusion: { spoken: string; heard: string; count: number }[];
  onsetError: { count: number; medianMs: number; p95Ms: number } | null;
}

/** Slots that carry the speaker's words, not a value. */
const NOT_COMPARED = new Set(['code', 'spoken', 'unclear']);

function slotsOf(entry: Entry): [string, string][] {
  return Object.entries(entry)
    .filter(([name]) => !NOT_COMPARED.has(name))
    .map(([name, value]) => [name, JSON.stringify(value)]);
}

function sameEntry(a: Entry, b: Entry): boolean {
  const key = (entry: Entry): string => JSON.stringify([entry.code, slotsOf(entry).sort()]);
  return key(a) === key(b);
}

/** Takes the first that fits out of the list. */
function take<T>(list: T[], fits: (item: T) => boolean): T | undefined {
  const at = list.findIndex(fits);
  return at < 0 ? undefined : list.splice(at, 1)[0];
}

const share = (count: number, of: number): Share => ({
  count,
  of,
  share: of === 0 ? NaN : count / of,
  ...wilson(count, of),
});

/** Scores all trials together. Each spoken entry gets exactly one fate: right, asked, wrong or missed. */
export function score(trials: readonly Trial[]): Score {
  const tally = { spoken: 0, right: 0, asked: 0, wrong: 0, surplus: 0, slots: 0, slotsRight: 0 };
  const falses = { count: 0, audioMs: 0 };
  const onsets: number[] = [];
  const confusion = new Map<string, number>();
  for (const trial of trials) {
    if (trial.expected.length === 0) {
      falses.count += trial.accepted.length;
      falses.audioMs += trial.audioMs;
      continue;
    }
    tally.spoken += trial.expected.length;
    const accepted = [...trial.accepted];
    const asked = [...trial.asked];
    const checkSlots = (spoken: Entry, heard: Entry): void => {
      const values = new Map(slotsOf(heard));
      for (const [name, value] of slotsOf(spoken)) {
        tally.slots++;
        if (values.get(name) === value) tally.slotsRight++;
      }
    };
    let open = trial.expected.filter(({ entry, onsetMs }) => {
      const match = take(accepted, (one) => sameEntry(one.entry, entry));
      if (!match) return true;
      tally.right++;
      checkSlots(entry, match.entry);
      if (onsetMs !== undefined && match.onsetMs !== undefined)
        onsets.push(Math.abs(match.onsetMs - onsetMs));
      return false;
    });
    const note = (spoken: string, heard: string): void => {
      const key = `${spoken}\t${heard}`;
      confusion.set(key, (confusion.get(key) ?? 0) + 1);
    };
    open = open.filter(({ entry }) => {
      const match = take(accepted, (one) => one.entry.code === entry.code);
      if (!match) return true;
      tally.wrong++;
      checkSlots(entry, match.entry);
      note(entry.code, `${entry.code} (slot)`);
      return false;
    });
    open = open.filter(({ entry }) => {
      if (!take(asked, (one) => one.code === entry.code)) return true;
      tally.asked++;
      return false;
    });
    for (const { entry } of open) {
      const other = accepted.shift();
      const question = other ? undefined : asked.shift();
      if (other) tally.wrong++;
      else if (question) tally.asked++;
      note(entry.code, other?.entry.code ?? (question ? `${question.code} (asked)` : '—'));
    }
    tally.surplus += accepted.length;
    for (const { entry } of accepted) note('—', entry.code);
  }
  const hours = falses.audioMs / 3_600_000;
  const rare = poisson(falses.count);
  return {
    recordings: trials.length,
    audioMs: trials.reduce((sum, trial) => sum + trial.audioMs, 0),
    right: share(tally.right, tally.spoken),
    asked: share(tally.asked, tally.spoken),
    wrong: share(tally.wrong, tally.spoken),
    missed: share(tally.spoken - tally.right - tally.asked - tally.wrong, tally.spoken),
    surplus: tally.surplus,
    slots: share(tally.slotsRight, tally.slots),
    falseEntries: {
      count: falses.count,
      hours,
      perHour: falses.count / hours,
      low: rare.low / hours,
      high: rare.high / hours,
    },
    confusion: [...confusion]
      .map(([key, count]) => ({ spoken: key.split('\t')[0]!, heard: key.split('\t')[1]!, count }))
      .sort((a, b) => b.count - a.count || a.spoken.localeCompare(b.spoken)),
    onsetError:
      onsets.length === 0
        ? null
        : { count: onsets.length, medianMs: median(onsets), p95Ms: quantile(onsets, 0.95) },
  };
}

const percent = (value: number): string => `${(100 * value).toFixed(1)} %`;

/** The score as lines of text. */
export function scoreText(result: Score): string {
  const line = (name: string, part: Share): string =>
    part.of === 0
      ? `${name.padEnd(26)} nothing to count`
      : `${name.padEnd(26)} ${percent(part.share).padStart(8)}  (${part.count} of ${part.of}; 95 % interval ${percent(part.low)} to ${percent(part.high)}, Wilson)`;
  const { falseEntries: rare, onsetError } = result;
  const lines = [
    `${result.recordings} recordings, ${(result.audioMs / 60_000).toFixed(1)} minutes`,
    '',
    line('Right (recall)', result.right),
    line('Asked', result.asked),
    line('Wrong accepts', result.wrong),
    line('Missed', result.missed),
    `${'Surplus entries'.padEnd(26)} ${String(result.surplus).padStart(8)}  (accepted beyond what was spoken)`,
    line('Slot accuracy', result.slots),
    rare.hours === 0
      ? `${'False entries an hour'.padEnd(26)} no recording that must log nothing`
      : `${'False entries an hour'.padEnd(26)} ${rare.perHour.toFixed(2).padStart(8)}  (${rare.count} in ${rare.hours.toFixed(2)} h; 95 % interval ${rare.low.toFixed(2)} to ${rare.high.toFixed(2)}, Poisson exact)`,
    onsetError
      ? `${'Onset error'.padEnd(26)} ${`${Math.round(onsetError.medianMs)} ms`.padStart(8)}  median, ${Math.round(onsetError.p95Ms)} ms 95th percentile (${onsetError.count} entries with a known onset)`
      : `${'Onset error'.padEnd(26)} no known onsets ("onsetMs" in an entry of the JSON file)`,
  ];
  if (result.confusion.length > 0) {
    lines.push('', 'Spoken → heard (— nothing):');
    for (const { spoken, heard, count } of result.confusion) {
      lines.push(`${String(count).padStart(5)}  ${spoken.padEnd(28)} → ${heard}`);
    }
  }
  return lines.join('\n');
}
