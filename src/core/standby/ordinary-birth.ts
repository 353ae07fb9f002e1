import type { RecordView } from '../log/view.ts';
import rules from './rules.json';

/**
 * Whether a record that standby began by itself is of an ordinary birth, which nobody wants to keep.
 * `kept`: nothing discards it, now or later. `asking`: "keep?" stands there until `untilMs`, record time.
 * `unanswered`: nobody answered; it may be sealed and put away.
 */
export type OrdinaryBirth =
  { kind: 'kept' } | { kind: 'open' } | { kind: 'asking'; untilMs: number } | { kind: 'unanswered' };

const { head, body, withinMs, codes, answerMs } = rules.ordinary;

/** The words with which a voice keeps it; anything else that is understood keeps it as well. */
const keeps = (heard: string): boolean =>
  rules.keep.includes(
    heard
      .toLowerCase()
      .replace(/[^a-z ]/g, '')
      .trim(),
  );

/** True where anything happened that no ordinary birth has, or anybody took part by hand. */
function isMore(view: RecordView): boolean {
  const { events, entries, questions, utterances, marks, interruptions } = view;
  return (
    events.some(({ by }) => by.kind !== 'voice' && by.kind !== 'system') ||
    entries.some(({ entry, changes }) => !codes.includes(entry.code) || changes.length > 0) ||
    questions.some(
      ({ state, entries: asked, alternatives }) =>
        state !== 'confirmed' ||
        [asked, ...alternatives.map((one) => one.entries)].flat().some(({ code }) => !codes.includes(code)),
    ) ||
    marks.length > 0 ||
    interruptions.length > 0 ||
    view.signatures.length > 0 ||
    Object.keys(view.fields).length > 0 ||
    utterances.some(
      ({ unheard, heard, command }) =>
        unheard !== undefined ||
        keeps(heard) ||
        (command !== undefined && !['confirm', ...rules.beginCommands].includes(command.code)),
    )
  );
}

/**
 * Pure. @param touched whether anybody touched the screen since the record began.
 * A record that a touch began, or that was finished or paused by anybody, is kept.
 */
export function ordinaryBirth(view: RecordView, nowMs: number, touched: boolean): OrdinaryBirth {
  const kept = { kind: 'kept' } as const;
  if (view.standby?.by !== 'voice' || touched || view.finishedAtMs !== null || isMore(view)) return kept;
  const of = (code: string) => view.entries.filter(({ entry }) => entry.code === code);
  const [heads, bodies] = [of(head), of(body)];
  // Two heads or two bodies: a twin, or something misheard. A body alone is no ordinary birth that was heard whole.
  if (heads.length > 1 || bodies.length > 1) return kept;
  const headMs = heads[0]?.atMs;
  if (headMs === undefined) return bodies.length > 0 ? kept : { kind: 'open' };
  const bodyMs = bodies[0]?.atMs;
  if (bodyMs === undefined) return nowMs - headMs > withinMs ? kept : { kind: 'open' };
  if (bodyMs < headMs || bodyMs - headMs > withinMs) return kept;
  const untilMs = Math.max(...view.entries.map(({ madeAtMs }) => madeAtMs)) + answerMs;
  return nowMs < untilMs ? { kind: 'asking', untilMs } : { kind: 'unanswered' };
}

/** How long a discarded record stays sealed on the device and can be fetched back. */
export const SEALED_MS = rules.sealedMs;
