import type { RecordView, UtteranceView } from '../log/view.ts';
import type { Drill, DrillTruth, PlayedLine } from './drill.ts';
import type { Cause, HeardNear } from './debrief-types.ts';
import rules from './match-rules.json' with { type: 'json' };

export interface Account {
  saidAloud: boolean | null;
  cause: Cause | null;
  spoken: string | null;
  heard: HeardNear[];
}

/** What an event's partner in the record rests on. */
export interface Partner {
  utteranceId?: string;
  wrong: boolean;
}

/** A played line and its utterance begin within this of each other: the recogniser's lead-in and hang-over. */
const LINE_BEFORE_MS = 1_000;
const LINE_AFTER_MS = 2_500;

/**
 * Whether an event was called out and, where it is missing or wrong, why.
 * @param taken utterances that stand behind another event's entry: without a script they explain nothing here.
 */
export function accountFor(
  event: DrillTruth,
  partner: Partner | null,
  drill: Drill,
  view: RecordView,
  taken: ReadonlySet<string>,
): Account {
  const line = drill.lines.filter((played) => played.says.includes(event.id)).at(-1) ?? null;
  const byVoice = partner?.utteranceId !== undefined;
  const saidAloud = event.said ?? (byVoice ? true : null);
  if (partner && !partner.wrong) return { saidAloud, cause: null, spoken: line?.text ?? null, heard: [] };
  const heard = partner?.utteranceId
    ? view.utterances.filter((utterance) => utterance.utteranceId === partner.utteranceId)
    : utterancesNear(event, line, view, taken);
  const cause = partner ? wrongBecause(line, heard, drill) : missingBecause(saidAloud, heard, view);
  // What was heard beside an event that nobody called out was about something else.
  const near = cause === 'not-said' ? [] : heard.map(heardNear);
  return { saidAloud, cause, spoken: line?.text ?? null, heard: near };
}

function utterancesNear(
  event: DrillTruth,
  line: PlayedLine | null,
  view: RecordView,
  taken: ReadonlySet<string>,
): UtteranceView[] {
  const spoken = view.utterances.filter((utterance) => utterance.outcome !== 'command');
  if (line)
    return spoken.filter(
      ({ onsetMs, endMs }) =>
        (onsetMs >= line.atMs - LINE_BEFORE_MS && onsetMs <= line.atMs + LINE_AFTER_MS) ||
        (onsetMs < line.atMs && endMs > line.atMs),
    );
  const [fromMs, toMs] = [
    event.atMs - rules.heardBeforeSeconds * 1000,
    event.atMs + rules.heardAfterSeconds * 1000,
  ];
  return spoken.filter(
    ({ onsetMs, utteranceId }) => onsetMs >= fromMs && onsetMs <= toMs && !taken.has(utteranceId),
  );
}

function missingBecause(saidAloud: boolean | null, heard: UtteranceView[], view: RecordView): Cause {
  if (saidAloud === false) return 'not-said';
  const unanswered = new Set(view.questions.filter((q) => q.state !== 'confirmed').map((q) => q.utteranceId));
  if (saidAloud === null) return heard.length === 0 ? 'nothing-heard' : 'not-known';
  if (heard.some((utterance) => unanswered.has(utterance.utteranceId))) return 'asked';
  return heard.length === 0 ? 'not-heard' : 'misheard';
}

function wrongBecause(line: PlayedLine | null, heard: UtteranceView[], drill: Drill): Cause {
  if (drill.way === 'table-top') return 'called-wrongly';
  if (line === null || heard.length === 0) return 'not-known';
  return heard.some((utterance) => plain(utterance.heard) === plain(line.text))
    ? 'called-wrongly'
    : 'misheard';
}

const plain = (words: string): string =>
  words
    .toLowerCase()
    .replace(/[^a-z0-9' ]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();

const heardNear = ({ utteranceId, onsetMs, heard, outcome }: UtteranceView): HeardNear => ({
  utteranceId,
  atMs: onsetMs,
  heard,
  outcome,
});
