import { isMonth } from '../../audit/allowed.ts';
import { flattener, monthOf } from '../../audit/flatten.ts';
import { pseudonymiser } from '../../audit/pseudonym.ts';
import type { Truth } from '../../audit/truth.ts';
import { foldRecord } from '../../core/log/fold.ts';
import { importRecord } from '../../core/record/import.ts';
import { loadVocabulary } from '../../packs/vocabulary.ts';
import { CsvParts } from './csv-parts.ts';
import { textsIn, type SourceFile } from './sources.ts';

/** What a worker needs to turn files into rows. */
export interface ReadSetup {
  folder: string;
  name: string;
  key: Uint8Array;
  units: readonly string[];
  since: string | null;
  until: string | null;
  truths: ReadonlyMap<string, Truth>;
}

/** One record that was read: `events` tells an older copy from a newer one. */
export interface ReadRecord {
  record: string;
  copy: number;
  events: number;
}

export type FromWorker =
  | {
      kind: 'file';
      file: number;
      records: ReadRecord[];
      outside: number;
      refused: { name: string; why: string }[];
    }
  | { kind: 'ended' };
export type ToWorker =
  { kind: 'set-up'; setup: ReadSetup } | { kind: 'read'; file: number; source: SourceFile } | { kind: 'end' };

/** Copies are numbered so that two workers never use the same number. */
const COPIES_A_FILE = 100_000;

/** Files in, rows out. */
function reader(setup: ReadSetup) {
  const pseudonym = pseudonymiser(setup.key);
  const flatten = flattener({ vocabulary: loadVocabulary(), pseudonym, units: setup.units });
  const parts = new CsvParts(setup.folder, setup.name);
  const asked = (month: string) =>
    isMonth(month) &&
    (setup.since === null || month >= setup.since) &&
    (setup.until === null || month <= setup.until);

  function readFile(file: number, source: SourceFile): FromWorker {
    const told: Extract<FromWorker, { kind: 'file' }> = {
      kind: 'file',
      file,
      records: [],
      outside: 0,
      refused: [],
    };
    let number = 0;
    try {
      for (const { name, text } of textsIn(source.path)) {
        number += 1;
        const result = importRecord(text());
        if (result.kind === 'refused') {
          told.refused.push({ name, why: result.sentence });
          continue;
        }
        const { recordId } = result.file;
        const view = foldRecord(result.file);
        if (!asked(monthOf(view))) {
          told.outside += 1;
          continue;
        }
        const truth = setup.truths.get(recordId);
        const copy = file * COPIES_A_FILE + number;
        parts.add(flatten({ recordId, view, truth, unit: source.unit }), copy);
        told.records.push({ record: pseudonym(recordId), copy, events: view.events.length });
      }
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      told.refused.push({
        name: source.path,
        why: `It could not be read to its end (${why}). What was read before counts.`,
      });
    }
    return told;
  }
  return { readFile, flush: () => parts.flush() };
}

const tell = (message: FromWorker) => process.send!(message);
let reading: ReturnType<typeof reader> | null = null;
process.on('message', (message: ToWorker) => {
  switch (message.kind) {
    case 'set-up':
      reading = reader(message.setup);
      return;
    case 'read':
      tell(reading!.readFile(message.file, message.source));
      return;
    case 'end':
      reading!.flush();
      tell({ kind: 'ended' });
      process.disconnect();
  }
});
