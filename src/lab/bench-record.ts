import { deriveFacts } from '../core/facts/derive.ts';
import { sealEvents, verifyRecord } from '../core/log/chain.ts';
import type { EventBody, RecordFile } from '../core/log/events.ts';
import { foldRecord } from '../core/log/fold.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { exportRecord } from '../core/record/export.ts';
import { importRecord } from '../core/record/import.ts';

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

interface Timed {
  wall: number;
  computing: number;
}

/** Medians of wall time and of the process's own computing time: on a shared machine only the latter tells of the code. */
function timed(runs: number, work: () => unknown): Timed {
  const walls: number[] = [];
  const computings: number[] = [];
  for (let run = 0; run < runs; run += 1) {
    const cpu = process.cpuUsage();
    const from = performance.now();
    work();
    walls.push(performance.now() - from);
    const { user, system } = process.cpuUsage(cpu);
    computings.push((user + system) / 1000);
  }
  const median = (values: number[]) => values.sort((x, y) => x - y)[Math.floor(values.length / 2)]!;
  return { wall: median(walls), computing: median(computings) };
}

const FOLD_LIMIT_MS = 50;
const text = exportRecord(longRecord(10_000));
/** As it comes back from storage. */
const file = JSON.parse(text) as RecordFile;
const fold = timed(25, () => foldRecord(file));
const view = foldRecord(file);
const line = (what: string, { wall, computing }: Timed) =>
  console.log(
    `${what.padEnd(32)} computing ${computing.toFixed(1).padStart(8)} ms, wall ${wall.toFixed(1).padStart(8)} ms`,
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
if (fold.computing > FOLD_LIMIT_MS) {
  console.error(
    `Folding took ${fold.computing.toFixed(1)} ms of computing, over the limit of ${FOLD_LIMIT_MS} ms.`,
  );
  process.exitCode = 1;
}
