import { fork } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import type { FromWorker, ReadRecord, ReadSetup, ToWorker } from './read-worker.ts';
import type { SourceFile } from './sources.ts';

export interface ReadResult {
  /** Records in the tables. */
  records: number;
  /** Records outside the months asked for. */
  outside: number;
  /** Copies of a record that is there in another file; the one with most events counts. */
  olderCopies: number[];
  refused: { name: string; why: string }[];
}

const WORKER = fileURLToPath(new URL('./read-worker.ts', import.meta.url));

/** Reads the files in as many processes as there are cores, each writing parts of its own. */
export async function readFiles(
  files: readonly SourceFile[],
  setup: Omit<ReadSetup, 'name'>,
  onProgress: (filesDone: number, records: number) => void,
): Promise<ReadResult> {
  const best = new Map<string, ReadRecord>();
  const result: ReadResult = { records: 0, outside: 0, olderCopies: [], refused: [] };
  let next = 0;
  let done = 0;
  const take = (): ToWorker =>
    next < files.length ? { kind: 'read', file: next, source: files[next++]! } : { kind: 'end' };
  const count = (message: Extract<FromWorker, { kind: 'file' }>) => {
    done += 1;
    result.outside += message.outside;
    result.refused.push(...message.refused);
    for (const read of message.records) {
      const before = best.get(read.record);
      if (before === undefined) best.set(read.record, read);
      else {
        const newer = read.events > before.events ? read : before;
        result.olderCopies.push(newer === read ? before.copy : read.copy);
        best.set(read.record, newer);
      }
    }
    onProgress(done, best.size);
  };
  const run = (name: string) =>
    new Promise<void>((resolve, reject) => {
      const worker = fork(WORKER, { serialization: 'advanced' });
      const send = (message: ToWorker) => worker.send(message);
      let ended = false;
      worker.on('message', (message: FromWorker) => {
        if (message.kind === 'ended') {
          ended = true;
          return;
        }
        count(message);
        send(take());
      });
      worker.on('error', reject);
      worker.on('exit', (code) =>
        ended
          ? resolve()
          : reject(new Error(`A reading process ended early (${code}). No report was written.`)),
      );
      send({ kind: 'set-up', setup: { ...setup, name } });
      send(take());
    });
  const processes = Math.max(1, Math.min(availableParallelism(), files.length, 8));
  await Promise.all(Array.from({ length: processes }, (_, at) => run(String(at))));
  result.records = best.size;
  return result;
}
