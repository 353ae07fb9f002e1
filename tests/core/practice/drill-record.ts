import type { Entry } from '../../../src/core/entry.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import type { EventBody, RecordFile } from '../../../src/core/log/events.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';

/** What a test's team did: seconds of the record, and what came of it. */
export type Act =
  | { kind: 'voice'; s: number; heard: string; entry: Entry }
  | { kind: 'touch'; s: number; entry: Entry }
  | { kind: 'unrecognised'; s: number; heard: string }
  | { kind: 'asked'; s: number; heard: string; entry: Entry };

export const voice = (s: number, heard: string, entry: Entry): Act => ({ kind: 'voice', s, heard, entry });
export const touch = (s: number, entry: Entry): Act => ({ kind: 'touch', s, entry });
export const unrecognised = (s: number, heard: string): Act => ({ kind: 'unrecognised', s, heard });
export const asked = (s: number, heard: string, entry: Entry): Act => ({ kind: 'asked', s, heard, entry });

/** A practice record that begins on the full second at 10:00:00 UTC. Ids are e0, u0 … by place in the list. */
export function practiceRecord(acts: readonly Act[]): RecordFile {
  const createdAt = '2026-03-05T10:00:00.000+00:00';
  const wallMs = Date.UTC(2026, 2, 5, 10);
  const file = createRecordFile({
    recordId: 'drill-1',
    mode: 'practice',
    wallMs,
    createdAt,
    timeZone: 'Etc/UTC',
  });
  const bodies = acts.flatMap(bodiesOf);
  const made = { by: { kind: 'voice' } as const, madeAtMs: 0, madeAt: createdAt };
  return { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, bodies, made)] };
}

function bodiesOf(act: Act, at: number): EventBody[] {
  const atMs = act.s * 1000;
  const entryId = `e${at}`;
  const utteranceId = `u${at}`;
  if (act.kind === 'touch') return [{ kind: 'entry', entryId, entry: act.entry, atMs, timing: 'touch' }];
  const outcome = act.kind === 'voice' ? 'accept' : act.kind === 'asked' ? 'ask' : 'unrecognised';
  const utterance = { utteranceId, onsetMs: atMs, endMs: atMs + 1000, heard: act.heard, confidence: 0.9 };
  const spoken: EventBody = { kind: 'utterance', ...utterance, outcome };
  if (act.kind === 'unrecognised') return [spoken];
  if (act.kind === 'voice')
    return [spoken, { kind: 'entry', entryId, entry: act.entry, atMs, timing: 'heard', utteranceId }];
  return [
    spoken,
    {
      kind: 'question',
      questionId: `q${at}`,
      utteranceId,
      entries: [act.entry],
      problem: 'unclear',
      atMs,
      timing: 'heard',
    },
  ];
}
