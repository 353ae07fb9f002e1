import { expect, test } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteFhir } from '../../../src/core/note/fhir.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { at, MadeRecord } from './make-record.ts';

/** Head, then 20 minutes that only the device's clock counted, then the baby, 4:10 later by the record's clock. */
const slept = () =>
  new MadeRecord()
    .called(at(1), 'head out', { code: 'head-delivered' })
    .append({ kind: 'system' }, at(3), {
      kind: 'clocks-parted',
      sinceMs: at(2, 58),
      atMs: at(3),
      byMs: at(20),
    })
    .called(at(5, 10), 'baby out', { code: 'body-delivered' })
    .called(at(6, 10), 'placenta out', { code: 'placenta-delivered' });

const mainInterval = (record: MadeRecord) =>
  deriveFacts(record.view).intervals.find(({ id }) => id === 'head-to-body')!;

test('an interval across a sleep has two figures, one that does not cross it has one', () => {
  expect(mainInterval(slept()).value).toMatchObject({
    kind: 'known',
    seconds: 250,
    byDeviceClockSeconds: 1450,
  });
  const before = new MadeRecord()
    .called(at(1), 'head out', { code: 'head-delivered' })
    .called(at(2), 'baby out', { code: 'body-delivered' });
  expect(mainInterval(before).value).not.toHaveProperty('byDeviceClockSeconds');
});

test('the note prints both and says why; the document holds both as a range', () => {
  const { file, view } = slept();
  const note = buildNote(file, view, deriveFacts(view), loadVocabulary());
  const text = noteText(note).replace(/\s+/g, ' ');
  expect(text).toContain('4:10 or 24:10');
  expect(text).toContain('The device slept or its clock was set');
  expect(text).not.toMatch(/Head to body[^0-9]*4:10 (?!or)/);
  expect(noteFhir(note)).toContain('valueRange');
});

test('the record is taken by an import as it was', () => {
  const { file } = slept();
  expect(importRecord(exportRecord(file))).toEqual({ kind: 'ok', file });
});
