import { KEY_BYTES, pseudonymiser } from '../audit/pseudonym.ts';
import { flattener } from '../audit/flatten.ts';
import { NO_UNIT } from '../audit/allowed.ts';
import { answer } from '../audit/questions.ts';
import { buildReport } from '../audit/report.ts';
import { addRows, noRows, within } from '../audit/tables.ts';
import { truthOfDrill } from '../audit/truth.ts';
import { foldRecord } from '../core/log/fold.ts';
import type { Drill } from '../core/practice/drill.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { recordsOn } from '../store/record-shelf.ts';
import { readingShelf } from '../store/sealed-shelf.ts';
import { indexedDbShelf } from '../store/shelf.ts';
import type { FromDepartment, ToDepartment } from './department-messages.ts';

/**
 * Reads every record of the device, keeps their flat rows and answers from them. It runs beside the page, so that
 * the page stays usable; the rows are gone with it.
 */
const tell = (message: FromDepartment): void => self.postMessage(message);
/** Records asked for at the same time: enough to keep the database busy. */
const TOGETHER = 48;

const rows = noRows();
const vocabulary = loadVocabulary();

async function read({ database, keys, deviceKeys }: Extract<ToDepartment, { kind: 'read' }>): Promise<void> {
  const shelf = readingShelf(indexedDbShelf(database), deviceKeys);
  const records = recordsOn(shelf, keys);
  const pseudonym = pseudonymiser(crypto.getRandomValues(new Uint8Array(KEY_BYTES)));
  const flatten = flattener({ vocabulary, pseudonym, units: [] });
  const [summaries, drillList] = await Promise.all([records.summaries(), shelf.list<Drill>(['drill'])]);
  const drills = new Map(drillList.map((drill) => [drill.recordId, drill]));
  let locked = 0;
  let unread = 0;
  const readFrom = (at: number) =>
    Promise.all(summaries.slice(at, at + TOGETHER).map(({ recordId }) => records.read(recordId)));
  // The database fetches the next ones while these are worked on.
  let coming = readFrom(0);
  for (let at = 0; at < summaries.length; at += TOGETHER) {
    const outcomes = await coming;
    coming = readFrom(at + TOGETHER);
    for (const outcome of outcomes) {
      if (outcome.kind === 'locked') locked += 1;
      else if (outcome.kind !== 'ok') unread += 1;
      else {
        try {
          const { recordId } = outcome.file;
          const view = foldRecord(outcome.file);
          const drill = drills.get(recordId);
          const truth = drill && view.mode === 'practice' ? truthOfDrill(drill, view, vocabulary) : undefined;
          addRows(rows, flatten({ recordId, view, truth, unit: NO_UNIT }));
        } catch {
          // One record that this version cannot read must not keep the others out; it is counted and told.
          unread += 1;
        }
      }
    }
    tell({ kind: 'progress', done: Math.min(at + TOGETHER, summaries.length), all: summaries.length });
  }
  const months = rows.births.map(({ month }) => month).sort();
  tell({ kind: 'read', first: months[0] ?? null, last: months.at(-1) ?? null, locked, unread });
}

self.onmessage = ({ data }: MessageEvent<ToDepartment>) => {
  if (data.kind === 'read') {
    read(data).catch((error: unknown) => tell({ kind: 'failed', why: String(error) }));
    return;
  }
  const { since, until, ...options } = data.options;
  const answers = answer(within(rows, since ?? null, until ?? null));
  tell({ kind: 'report', report: buildReport(answers, { ...options, since, until, vocabulary }) });
};
