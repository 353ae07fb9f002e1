import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { meaningOf } from '../../../src/core/dialogue/take-in.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import { begins } from '../../../src/core/standby/standby.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

/** Talk that must begin nothing: all of the project's talk as text, and every line of the tables that logs nothing. */
const ROOT = join(import.meta.dirname, '../../..');
const vocabulary = loadVocabulary();
const file = createRecordFile({ recordId: 'r', mode: 'real', wallMs: 0, createdAt: '', timeZone: 'UTC' });
const nothing = foldRecord({ ...file, events: [] });

/** What begins one all the same: a lone trade word in talk is asked about, and what is asked about begins a record. */
const KNOWN = ['i wrote my dissertation on shoulder dystocia'];

const linesOf = (path: string): string[] =>
  readFileSync(path, 'utf8')
    .split('\n')
    .filter((line) => line.trim() !== '' && !line.startsWith('#'));

const talk = ['talk.txt', 'talk-long.txt'].flatMap((name) => linesOf(join(ROOT, 'models/training', name)));
const tables = join(ROOT, 'tests/core/interpret/table');
const logsNothing = readdirSync(tables).flatMap((name) =>
  linesOf(join(tables, name))
    .map((line) => line.split('\t'))
    .filter(([, outcome]) => outcome === 'unrecognised')
    .map(([words]) => words!),
);

const startOf = (words: string): boolean =>
  begins(
    meaningOf(
      { onsetMs: 0, endMs: 1000, heard: { tuned: { text: words }, untouched: { text: words } } as never },
      nothing,
      vocabulary,
    ),
  );

test.each([
  ['talk of a delivery room', talk, 500],
  ['lines that log nothing', logsNothing, 500],
])(
  '%s begins no record',
  (_, lines, least) => {
    expect(lines.length).toBeGreaterThan(least);
    expect(lines.filter(startOf).filter((line) => !KNOWN.includes(line))).toEqual([]);
  },
  60_000,
);
