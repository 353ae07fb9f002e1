import { sealEvents } from '../../../src/core/log/chain.ts';
import type { Author, EventBody, RecordFile } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import type { RecordView } from '../../../src/core/log/view.ts';

/** A record of these events, each made 2 s after the one before it; begun 14:00:00 UTC. Invented. */
export function viewOf(bodies: EventBody[], by: Author = { kind: 'voice' }): RecordView {
  const file: RecordFile = {
    format: 'utterlog-record',
    version: 1,
    recordId: 'r',
    createdAt: '2026-03-05T14:00:00.000+00:00',
    timeZone: 'Europe/London',
    spans: [{ spanId: 0, startMs: 0, wallMs: Date.parse('2026-03-05T14:00:00Z') }],
    events: [],
  };
  const all: EventBody[] = [{ kind: 'begin', mode: 'practice' }, ...bodies];
  for (const [index, body] of all.entries()) {
    const madeAtMs = index * 2000;
    const made = { by, madeAtMs, madeAt: new Date(file.spans[0]!.wallMs + madeAtMs).toISOString() };
    file.events.push(...sealEvents(file.events.at(-1) ?? null, [body], made));
  }
  return foldRecord(file);
}

export const utterance = (
  utteranceId: string,
  outcome: 'accept' | 'ask' | 'command' | 'unrecognised',
  heard = 'words',
): EventBody => ({ kind: 'utterance', utteranceId, onsetMs: 0, endMs: 900, heard, confidence: 0.9, outcome });

export const entry = (entryId: string, code: string, utteranceId?: string): EventBody => ({
  kind: 'entry',
  entryId,
  entry: { code },
  atMs: 5000,
  timing: 'heard',
  utteranceId,
});
