import { evalSqlOnFhir } from '@medplum/core';
import { describe, expect, it } from 'vitest';
import { INTERVALS } from '../../src/audit/allowed.ts';
import views from '../../src/audit/fhir-views.json' with { type: 'json' };
import { flattener } from '../../src/audit/flatten.ts';
import { pseudonymiser } from '../../src/audit/pseudonym.ts';
import type { FlatRows } from '../../src/audit/tables.ts';
import { deriveFacts } from '../../src/core/facts/derive.ts';
import { roleInWords } from '../../src/core/facts/logged.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import type { RecordFile } from '../../src/core/log/events.ts';
import { buildNote } from '../../src/core/note/build.ts';
import { noteFhir } from '../../src/core/note/fhir.ts';
import { inventedBirth } from '../../src/lab/invented-births.ts';
import { INVENTED } from '../core/note/invented-records.ts';
import { vocabulary } from './invented-rows.ts';

/**
 * The documents flattened by the view definitions against the records flattened by the audit itself. Runner: the
 * SQL-on-FHIR evaluation of @medplum/core, which runs the public test cases of the specification.
 */
const flatten = flattener({ vocabulary, pseudonym: pseudonymiser(new Uint8Array(32).fill(3)), units: [] });
type OutRow = Record<string, unknown>;

function both(file: RecordFile): { rows: FlatRows; view: (name: string) => OutRow[] } {
  const view = foldRecord(file);
  const document = JSON.parse(noteFhir(buildNote(file, view, deriveFacts(view), vocabulary))) as {
    entry: { resource: never }[];
  };
  const resources = document.entry.map(({ resource }) => resource);
  return {
    rows: flatten({ recordId: file.recordId, view, unit: 'not stated' }),
    view: (name) => evalSqlOnFhir(views.views.find((v) => v.name === name) as never, resources) as OutRow[],
  };
}

const files: [string, RecordFile][] = [
  ...Object.entries(INVENTED).map(([name, make]) => [name, make().file] as [string, RecordFile]),
  ...Array.from(
    { length: 40 },
    (_, at) => [`invented ${at}`, inventedBirth(at).file] as [string, RecordFile],
  ),
];
const sorted = (list: readonly string[]) => [...list].sort();

describe.each(files)('%s', (_, file) => {
  const { rows, view } = both(file);

  it('intervals have the same lengths', () => {
    const labels = new Map(INTERVALS.map(({ id, label }) => [id, label]));
    const label = ({ measure, role, number }: FlatRows['intervals'][number]) => {
      if (measure === 'head-to-body') return 'Head-to-body interval';
      if (role === null) return labels.get(measure)!;
      return `${labels.get(measure)}: ${roleInWords(role)}${number > 1 ? ` (${number})` : ''}`;
    };
    const expected = rows.intervals
      .filter(({ measure, state }) => measure !== 'manoeuvre' && state === 'known')
      .map((row) => `${label(row)} ${row.seconds}`);
    // Lengths of single manoeuvres are Procedures; the note's own summaries of them are no rows of the table.
    const found = view('intervals')
      .filter(({ label: text }) => !/^(Suprapubic pressure, span|Longest manoeuvre)/.test(String(text)))
      .map(({ label: text, seconds }) => `${String(text)} ${String(seconds)}`);
    expect(sorted(found)).toEqual(sorted(expected));
  });

  it('manoeuvres are as many, and last as long where their end was called out', () => {
    const ofTable = rows.intervals.filter(({ measure }) => measure === 'manoeuvre');
    const ofDocument = view('manoeuvres');
    const declared = rows.acts.some(({ code }) => code === 'dystocia-declared');
    if (!declared) return;
    expect(ofDocument).toHaveLength(ofTable.length);
    const lengths = ofDocument.flatMap(({ begun, ended }) =>
      typeof begun === 'string' && typeof ended === 'string'
        ? [(Date.parse(ended) - Date.parse(begun)) / 1000]
        : [],
    );
    const expected = ofTable.flatMap(({ end_by, seconds }) =>
      (end_by === 'called' || end_by === 'outcome') && seconds !== null ? [seconds] : [],
    );
    expect(lengths).toHaveLength(expected.length);
    const ordered = (list: number[]) => [...list].sort((a, b) => a - b);
    // The table has the difference of printed seconds, the document the times themselves.
    ordered(lengths).forEach((length, at) =>
      expect(Math.abs(length - ordered(expected)[at]!)).toBeLessThanOrEqual(1),
    );
  });

  it('vessels with a pH are the same', () => {
    const vessels = new Set(view('ph').map(({ label }) => String(label).replace(/^pH, /, '')));
    const both = vessels.has('cord artery') && vessels.has('cord vein');
    const one = vessels.has('cord artery') || vessels.has('cord vein');
    const found = both ? 'two vessels' : one ? 'one vessel' : vessels.size > 0 ? 'vessel not stated' : 'none';
    expect(found).toBe(rows.births[0]!.gases);
    for (const { label, loinc } of view('ph')) {
      if (label === 'pH, cord artery') expect(loinc).toBe('28646-8');
    }
  });

  it('the blood loss was found in the same way', () => {
    const methods = view('blood_loss').map(({ method }) => method);
    const measured = methods.some((method) => method === 'measured' || method === 'weighed');
    const found =
      methods.length === 0
        ? 'not recorded'
        : measured
          ? 'measured'
          : methods.includes('estimated')
            ? 'estimated'
            : 'method not stated';
    expect(found).toBe(rows.births[0]!.blood_loss);
  });
});

it('the records together hold every kind of what is compared', () => {
  const all = files.map(([, file]) => both(file).rows.births[0]!);
  expect(new Set(all.map(({ gases }) => gases)).size).toBeGreaterThanOrEqual(3);
  expect(new Set(all.map(({ blood_loss }) => blood_loss)).size).toBe(4);
});
