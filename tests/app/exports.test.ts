import { strFromU8, unzipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { exportName, FORMATS, makeExport } from '../../src/app/exports.ts';
import { zipTables } from '../../src/app/zip-tables.ts';
import { zipRecords } from '../../src/app/zip.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { importRecord } from '../../src/core/record/import.ts';
import type { RecordFile } from '../../src/core/log/events.ts';
import { fullBirth, HOSTILE, smallRecord } from '../browser/desk-fixtures.ts';

const drill = fullBirth('0a1b2c3d-drill', { mode: 'practice', reference: HOSTILE });
const real = fullBirth('9f8e7d6c-real');
const made = (file: RecordFile, format: (typeof FORMATS)[number], practiceAskedFor = false) => {
  const outcome = makeExport(file, format, { practiceAskedFor });
  if (outcome.kind !== 'file') return null;
  const { file: one } = outcome;
  const texts = 'text' in one ? [one.text] : one.tables.map((table) => table.text);
  return { name: one.name, text: texts.join(''), texts };
};

describe('one record', { timeout: 60_000 }, () => {
  test.each(FORMATS)('%s: a real record is never marked as practice, by name or content', (format) => {
    const file = made(real, format)!;
    expect(file.name).toMatch(/^utterlog_2026-10-14_1340_9f8e7d6c\./);
    expect(file.text).not.toContain('PRACTICE');
    expect(file.text.length).toBeGreaterThan(500);
  });
  test.each(FORMATS.filter((format) => format !== 'json'))(
    '%s: refused for a drill, marked when asked for',
    (format) => {
      expect(makeExport(drill, format, { practiceAskedFor: false })).toEqual({
        kind: 'refused',
        why: 'practice',
      });
      const file = made(drill, format, true)!;
      expect(file.name).toMatch(/^PRACTICE_/);
      for (const text of file.texts) expect(text).toContain('PRACTICE');
    },
  );
  test('the record itself is given for a drill too, by a name that says so', () => {
    const file = made(drill, 'json')!;
    expect(file.name).toMatch(/^PRACTICE_.*\.json$/);
    expect(importRecord(file.text)).toEqual({ kind: 'ok', file: drill });
  });
  test('the tables come as one ZIP, the same bytes each time', () => {
    const outcome = makeExport(real, 'csv', { practiceAskedFor: false });
    if (outcome.kind !== 'file' || !('tables' in outcome.file)) throw new Error('no tables');
    const { name, mediaType, tables } = outcome.file;
    expect(name).toMatch(/^utterlog_2026-10-14_1340_9f8e7d6c\.csv\.zip$/);
    expect(mediaType).toBe('application/zip');
    const bytes = zipTables(tables);
    expect(zipTables(tables)).toEqual(bytes);
    const inside = Object.entries(unzipSync(bytes)).map(([of, text]) => ({
      name: of,
      text: new TextDecoder('utf-8', { ignoreBOM: true }).decode(text),
    }));
    expect(inside).toEqual(tables);
    expect(inside.map((file) => file.name)).toEqual([
      'entries.csv',
      'intervals.csv',
      'signatures.csv',
      'columns.csv',
    ]);
  });
  test('a name holds no reference and nothing that a file system minds', () => {
    const odd = { ...drill, recordId: '../../etc/passwd' };
    for (const format of FORMATS)
      expect(exportName(odd, foldRecord(drill), format)).toMatch(/^[A-Za-z0-9_.-]+$/);
    expect(exportName({ ...drill, recordId: '…' }, foldRecord(drill), 'text')).toBe(
      'PRACTICE_utterlog_2026-10-14_1340_record.txt',
    );
  });
});

describe('many records in one ZIP', { timeout: 60_000 }, () => {
  const files = new Map(
    Array.from({ length: 30 }, (_, at) => smallRecord(at)).map((file) => [file.recordId, file]),
  );
  const read = async (id: string) => files.get(id) ?? null;
  const options = (more: object = {}) => ({
    formats: ['json', 'text'] as const,
    practiceAskedFor: false,
    onProgress: () => {},
    signal: new AbortController().signal,
    ...more,
  });

  test('holds every record; of a drill only the record itself', async () => {
    const seen: number[] = [];
    const outcome = await zipRecords(
      [...files.keys(), 'gone'],
      read,
      options({ onProgress: ({ done }: { done: number }) => seen.push(done) }),
    );
    if (outcome.kind !== 'zip') throw new Error('not packed');
    expect(outcome.left).toEqual(['gone']);
    expect(seen).toEqual(Array.from({ length: 31 }, (_, at) => at + 1));
    const inside = unzipSync(outcome.bytes);
    const names = Object.keys(inside);
    // Of 30 invented records every third is a drill: 30 × JSON and 20 × text.
    expect(names.filter((name) => name.endsWith('.json'))).toHaveLength(30);
    expect(names.filter((name) => name.endsWith('.txt'))).toHaveLength(20);
    expect(names.filter((name) => name.startsWith('PRACTICE_'))).toHaveLength(10);
    const back = names
      .filter((name) => name.endsWith('.json'))
      .map((name) => importRecord(strFromU8(inside[name]!)))
      .map((result) => (result.kind === 'ok' ? result.file : result.sentence));
    expect(back).toHaveLength(30);
    expect(back.map((file) => files.get((file as RecordFile).recordId))).toEqual(back);
  });

  test('the tables of each record stand in a folder of their own, and every file is counted', async () => {
    const twins = { a: fullBirth('same-start-1'), b: fullBirth('same-start-2') };
    const outcome = await zipRecords(
      ['a', 'b'],
      async (id) => twins[id as 'a' | 'b'],
      options({ formats: ['csv', 'text'] }),
    );
    if (outcome.kind !== 'zip') throw new Error('not packed');
    const names = Object.keys(unzipSync(outcome.bytes));
    expect(outcome.files).toBe(names.length);
    const tables = ['entries.csv', 'intervals.csv', 'signatures.csv', 'columns.csv'];
    const start = 'utterlog_2026-10-14_1340_samestar';
    expect(names).toEqual([
      ...tables.map((name) => `${start}_csv/${name}`),
      `${start}.txt`,
      ...tables.map((name) => `${start}_2_csv/${name}`),
      `${start}_2.txt`,
    ]);
  });

  test('is cancelled between two records and then gives nothing', async () => {
    const stop = new AbortController();
    let done = 0;
    const onProgress = (now: { done: number }) => {
      done = now.done;
      if (now.done === 5) stop.abort();
    };
    const outcome = await zipRecords([...files.keys()], read, options({ onProgress, signal: stop.signal }));
    expect(outcome).toEqual({ kind: 'cancelled' });
    expect(done).toBe(5);
  });

  test('two records with one name are both in it', async () => {
    const twins = { a: fullBirth('same-start-1'), b: fullBirth('same-start-2') };
    const outcome = await zipRecords(
      ['a', 'b'],
      async (id) => twins[id as 'a' | 'b'],
      options({ formats: ['json'] }),
    );
    const names = outcome.kind === 'zip' ? Object.keys(unzipSync(outcome.bytes)) : [];
    expect(names).toEqual([
      'utterlog_2026-10-14_1340_samestar.json',
      'utterlog_2026-10-14_1340_samestar_2.json',
    ]);
  });
});
