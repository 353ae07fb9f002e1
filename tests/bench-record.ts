import { deriveFacts } from '../src/core/facts/derive.ts';
import { sealEvents, verifyRecord } from '../src/core/log/chain.ts';
import type { EventBody, RecordFile } from '../src/core/log/events.ts';
import { foldRecord } from '../src/core/log/fold.ts';
import { createRecordFile } from '../src/core/log/new-record.ts';
import { exportRecord } from '../src/core/record/export.ts';
import { importRecord } from '../src/core/record/import.ts';

/** A log of 10,000 entries with their utterances, every tenth of them shifted or struck out. */
function longRecord(entries: number): RecordFile {
  const wallMs = Date.parse('2026-03-05T14:00:00Z');
  const file = createRecordFile({
    recordId: 'bench',
    mode: 'practice',
    wallMs,
    createdAt: '2026-03-05T14:00:00.000+00:00',
    timeZone: 'Europe/London',
  });
  const codes = ['push', 'stop-pushing', 'mcroberts', 'suprapubic-pressure', 'role-arrived'];
  const bodies: EventBody[] = [];
  for (let n = 0; n < entries; n += 1) {
    const [utteranceId, entryId, atMs] = [`u${n}`, `e${n}`, n * 1000];
    const heard = { heard: 'words', heardSecond: 'words', confidence: 0.9, outcome: 'accept' } as const;
    bodies.push({ kind: 'utterance', utteranceId, onsetMs: atMs, endMs: atMs + 900, ...heard });
    bodies.push({
      kind: 'entry',
      entryId,
      entry: { code: codes[n % 5]! },
      atMs,
      timing: 'heard',
      utteranceId,
    });
    if (n % 20 === 0) bodies.push({ kind: 'shift', entryId, atMs: atMs - 500 });
    if (n % 20 === 10) bodies.push({ kind: 'strike', entryId });
  }
  const made = { by: { kind: 'voice' }, madeAtMs: 0, madeAt: '2026-03-05T14:00:00.000+00:00' } as const;
  return { ...file, events: [...file.events, ...sealEvents(file.events[0]!, bodies, made)] };
}

/** Milliseconds of the median and of the fastest run: on a shared machine only the fastest tells of the code. */
function timed(runs: number, work: () => unknown): { median: number; fastest: number } {
  const times = Array.from({ length: runs }, () => {
    const from = performance.now();
    work();
    return performance.now() - from;
  });
  times.sort((a, b) => a - b);
  return { median: times[Math.floor(runs / 2)]!, fastest: times[0]! };
}

const FOLD_LIMIT_MS = 50;
const file = longRecord(10_000);
const text = exportRecord(file);
const fold = timed(25, () => foldRecord(file));
const view = foldRecord(file);
const line = (what: string, { median, fastest }: { median: number; fastest: number }) =>
  console.log(
    `${what.padEnd(32)} median ${median.toFixed(1).padStart(8)} ms, fastest ${fastest.toFixed(1).padStart(8)} ms`,
  );
console.log(
  `${view.entries.length} entries, ${file.events.length} events, ${(text.length / 1e6).toFixed(1)} MB as JSON`,
);
line(`fold (25 runs, limit ${FOLD_LIMIT_MS} ms)`, fold);
line(
  'derive facts',
  timed(3, () => deriveFacts(view)),
);
line(
  'check the hash chain',
  timed(3, () => verifyRecord(file)),
);
line(
  'export',
  timed(3, () => exportRecord(file)),
);
line(
  'import with all checks',
  timed(3, () => importRecord(text)),
);
if (fold.fastest > FOLD_LIMIT_MS) {
  console.error(`Folding took ${fold.fastest.toFixed(1)} ms at best, over the limit of ${FOLD_LIMIT_MS} ms.`);
  process.exitCode = 1;
}
