import { sealEvents } from '../../src/core/log/chain.ts';
import { isoWithOffset } from '../../src/core/log/clock.ts';
import type { Author, EventBody, LogEvent, RecordFile, UtteranceBody } from '../../src/core/log/events.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import type { Entry } from '../../src/core/entry.ts';

/** Invented: 14 October 2026, 13:40:00 in London. */
export const BORN_WALL_MS = Date.UTC(2026, 9, 14, 12, 40, 0);
export const HOSTILE = '<img src=x onerror="window.hit=1">';
export const FORMULA = '=HYPERLINK("http://invalid.example","x")';
export const RTL = '\u202eesrever\u202c שלום';

type Step = { atMs: number; by: Author; bodies: EventBody[] };
const VOICE: Author = { kind: 'voice' };

/** Builds a record by steps, sealed in order, as the app would have written it. */
export function recordOf(options: {
  recordId: string;
  mode?: 'real' | 'practice';
  reference?: string;
  wallMs?: number;
  steps: Step[];
}): RecordFile {
  const { recordId, mode = 'real', reference, wallMs = BORN_WALL_MS, steps } = options;
  const timeZone = 'Europe/London';
  const file = createRecordFile({
    recordId,
    mode,
    reference,
    wallMs,
    createdAt: isoWithOffset(timeZone, wallMs),
    timeZone,
  });
  const events: LogEvent[] = [...file.events];
  for (const { atMs, by, bodies } of steps) {
    const madeAt = isoWithOffset(timeZone, wallMs + atMs);
    events.push(...sealEvents(events.at(-1)!, bodies, { by, madeAtMs: atMs, madeAt }));
  }
  return { ...file, events };
}

/** A call-out that was understood: the utterance and its entries. */
export function said(atMs: number, heard: string, entry: Entry, more: Partial<UtteranceBody> = {}): Step {
  const utteranceId = `u${atMs}`;
  return {
    atMs: atMs + 1700,
    by: VOICE,
    bodies: [
      {
        kind: 'utterance',
        utteranceId,
        onsetMs: atMs,
        endMs: atMs + 1400,
        heard,
        heardSecond: heard,
        confidence: 0.94,
        outcome: 'accept',
        ...more,
      },
      { kind: 'entry', entryId: `e${atMs}`, entry, atMs, timing: 'heard', utteranceId },
    ],
  };
}

/** An utterance that nothing was logged for. */
export function notUnderstood(atMs: number, heard: string, heardSecond: string): Step {
  const utteranceId = `u${atMs}`;
  const spoken = {
    kind: 'utterance',
    utteranceId,
    onsetMs: atMs,
    endMs: atMs + 1300,
    heard,
    heardSecond,
  } as const;
  return { atMs: atMs + 1600, by: VOICE, bodies: [{ ...spoken, confidence: 0.41, outcome: 'unrecognised' }] };
}

/** An invented birth with what a reviewer meets: corrections, a shift, a question, a contradiction, words not understood. */
export function fullBirth(
  recordId: string,
  more: { mode?: 'real' | 'practice'; reference?: string } = {},
): RecordFile {
  const s = 1000;
  return recordOf({
    recordId,
    reference: more.reference ?? 'Room 4, afternoon',
    mode: more.mode,
    steps: [
      said(20 * s, 'head out', { code: 'head-delivered' }),
      said(34 * s, 'turtle sign', { code: 'head-retracts' }),
      said(41 * s, 'shoulder dystocia', { code: 'dystocia-declared' }),
      said(46 * s, 'call for help', { code: 'help-called' }),
      said(52 * s, 'call the paediatrician', { code: 'role-called', role: 'paediatrician' }),
      said(63 * s, 'legs back', { code: 'mcroberts', phase: 'start' }, { heardSecond: 'legs pack' }),
      notUnderstood(70 * s, 'mind the drip stand', 'mine the drips and'),
      said(78 * s, 'suprapubic from the left', { code: 'suprapubic-pressure', phase: 'start', side: 'left' }),
      said(90 * s, 'head faces left', { code: 'head-faces', side: 'left' }),
      said(112 * s, 'suprapubic off', { code: 'suprapubic-pressure', phase: 'stop' }),
      notUnderstood(118 * s, 'episiottome', 'a piece of me'),
      said(125 * s, 'hand in', { code: 'internal-entry', phase: 'start' }),
      said(131 * s, 'going for the posterior arm', { code: 'posterior-arm', phase: 'start' }),
      said(149 * s, 'anaesthetist here', { code: 'role-arrived', role: 'anaesthetist' }),
      said(163 * s, 'paediatrician here', { code: 'role-arrived', role: 'paediatrician' }),
      said(171 * s, 'arm delivered', { code: 'posterior-arm', phase: 'done' }),
      said(179 * s, 'baby out', { code: 'body-delivered' }),
      said(185 * s, 'cord clamped', { code: 'cord-clamped' }),
      said(239 * s, 'apgar five at one', { code: 'apgar', minute: 1, score: 5 }),
      {
        atMs: 260 * s,
        by: VOICE,
        bodies: [
          {
            kind: 'utterance',
            utteranceId: 'u258000',
            onsetMs: 258 * s,
            endMs: 260 * s,
            heard: 'cord ph seven one eight',
            heardSecond: 'cord ph seven one eight',
            confidence: 0.88,
            outcome: 'ask',
          },
          {
            kind: 'question',
            questionId: 'q258000',
            utteranceId: 'u258000',
            entries: [{ code: 'cord-gas', ph: 7.18 }],
            problem: 'vessel-missing',
            atMs: 258 * s,
            timing: 'heard',
          },
        ],
      },
      {
        atMs: 300 * s,
        by: { kind: 'helper' },
        bodies: [
          { kind: 'shift', entryId: 'e46000', atMs: 43 * s, reason: 'bell log of the ward' },
          {
            kind: 'replace',
            entryId: 'e149000',
            entry: { code: 'role-arrived', role: 'senior-obstetrician' },
          },
          {
            kind: 'entry',
            entryId: 'n1',
            entry: { code: 'free-note', text: HOSTILE },
            atMs: 300 * s,
            timing: 'touch',
          },
          {
            kind: 'entry',
            entryId: 'n2',
            entry: { code: 'free-note', text: FORMULA },
            atMs: 301 * s,
            timing: 'touch',
          },
          {
            kind: 'entry',
            entryId: 'n3',
            entry: { code: 'free-note', text: RTL },
            atMs: 302 * s,
            timing: 'touch',
          },
          { kind: 'strike', entryId: 'e34000', reason: 'said about another room' },
        ],
      },
      { atMs: 310 * s, by: VOICE, bodies: [{ kind: 'finish', atMs: 310 * s }] },
    ],
  });
}

/** Many small records for the list. */
export function smallRecord(number: number): RecordFile {
  const steps = [
    said(5000, 'head out', { code: 'head-delivered' }),
    said(65_000, 'baby out', { code: 'body-delivered' }),
  ];
  return recordOf({
    recordId: `list-${String(number).padStart(5, '0')}`,
    mode: number % 3 === 0 ? 'practice' : 'real',
    reference: `Invented ${number}`,
    wallMs: BORN_WALL_MS - number * 3_600_000,
    steps:
      number % 2 === 0
        ? [...steps, { atMs: 70_000, by: VOICE, bodies: [{ kind: 'finish', atMs: 70_000 }] }]
        : steps,
  });
}
