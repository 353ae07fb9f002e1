import { flattener } from '../../src/audit/flatten.ts';
import { pseudonymiser } from '../../src/audit/pseudonym.ts';
import { addRows, noRows, type FlatRows } from '../../src/audit/tables.ts';
import { truthOfDrill } from '../../src/audit/truth.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { inventedBirth } from '../../src/lab/invented-births.ts';
import { INVENTED } from '../core/note/invented-records.ts';

export const vocabulary = loadVocabulary();
export const UNITS = ['North', 'South', 'East'];
/** East has few. */
export const unitOf = (index: number): string => (index % 23 === 0 ? 'East' : UNITS[index % 2]!);

/** Rows of invented records and of the six of the note's tests, in three units. */
export function inventedRows(count: number): FlatRows {
  const flatten = flattener({
    vocabulary,
    pseudonym: pseudonymiser(new Uint8Array(32).fill(5)),
    units: UNITS,
  });
  const rows = noRows();
  for (let index = 0; index < count; index++) {
    const { file, drill } = inventedBirth(index, { acts: 35 });
    const view = foldRecord(file);
    const truth = drill && truthOfDrill(drill, view, vocabulary);
    addRows(rows, flatten({ recordId: file.recordId, view, truth, unit: unitOf(index) }));
  }
  for (const [name, make] of Object.entries(INVENTED))
    addRows(rows, flatten({ recordId: name, view: make().view, unit: 'North' }));
  return rows;
}
