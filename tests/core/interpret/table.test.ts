import { describe, expect, test } from 'vitest';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import known from './known-failures.json';
import { isKnownFailure as isKnown, tableRows, twoReadingRows, type Row } from './table.ts';

/** Readings are the project's own choice by the rules of the contract; the wordings are common practice, no source. */
const vocabulary = loadVocabulary();
const rows = [...tableRows(vocabulary), ...twoReadingRows(vocabulary)];

/** The first reading builds the vocabulary's trees. */
interpret({ tuned: { text: 'head out' } }, { asking: false }, vocabulary);

const meaningOf = ({ text, untouched }: Row) =>
  interpret(
    { tuned: { text }, ...(untouched === undefined ? {} : { untouched: { text: untouched } }) },
    { asking: false },
    vocabulary,
  );

function extrasOf(row: Row): Record<string, string> {
  const meaning = meaningOf(row);
  const extras: Record<string, string> = {};
  if (meaning.outcome === 'ask') extras['problem'] = meaning.problem;
  if ('command' in meaning && meaning.command) {
    extras['code'] = meaning.command.code;
    if (meaning.command.since) extras['since'] = meaning.command.since;
    if (meaning.command.target) extras['target'] = meaning.command.target;
  }
  if (meaning.when && 'agoSeconds' in meaning.when) extras['ago'] = String(meaning.when.agoSeconds);
  if (meaning.when && 'clock' in meaning.when) extras['clock'] = meaning.when.clock;
  return extras;
}

const reads = (row: Row): unknown => {
  const { outcome, entries } = meaningOf(row);
  if (row.outcome === 'unlogged' && (outcome === 'unrecognised' || outcome === 'ask'))
    return { outcome: 'unlogged', entries: [] };
  return { outcome, entries, ...extrasOf(row) };
};
const wanted = ({ outcome, entries, extras }: Row): unknown => ({ outcome, entries, ...extras });

test('the table holds at least 600 lines', () => {
  expect(rows.length).toBeGreaterThanOrEqual(600);
});

for (const file of new Set(rows.map((row) => row.file))) {
  describe(file, () => {
    for (const row of rows.filter((one) => one.file === file && !isKnown(one))) {
      test(`${row.line}: ${row.text}${row.untouched === undefined ? '' : ` / ${row.untouched}`}`, () =>
        expect(reads(row)).toEqual(wanted(row)));
    }
  });
}

test('known failures still fail (one that passes leaves the list) and do not grow', () => {
  const failing = rows.filter(isKnown);
  expect(failing.map((row) => row.text).sort()).toEqual([...known.table].sort());
  for (const row of failing)
    expect(reads(row), `"${row.text}" is mended: take it off the list`).not.toEqual(wanted(row));
  expect(known.table.length).toBeLessThanOrEqual(known.most);
});
