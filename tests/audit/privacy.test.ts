import { describe, expect, it } from 'vitest';
import { allowedBy, checkRows, OWN_CODE, OWN_ROLE } from '../../src/audit/allowed.ts';
import { flattener } from '../../src/audit/flatten.ts';
import { pseudonymiser } from '../../src/audit/pseudonym.ts';
import { truthOfDrill } from '../../src/audit/truth.ts';
import { TABLES } from '../../src/audit/tables.ts';
import { exportRecord } from '../../src/core/record/export.ts';
import type { Drill } from '../../src/core/practice/drill.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { leaksIn, PLANTED, plantedRecord } from './planted.ts';

const KEY = new Uint8Array(32).fill(1);
const vocabulary = loadVocabulary();
const flatten = flattener({ vocabulary, pseudonym: pseudonymiser(KEY), units: ['North'] });

function rowsOf(mode: 'real' | 'practice') {
  const { file, view } = plantedRecord(mode);
  const drill: Drill = {
    format: 'utterlog-drill',
    version: 1,
    recordId: file.recordId,
    way: 'live',
    scenarioId: PLANTED.ownCode,
    scenarioTitle: PLANTED.note,
    startedAt: file.createdAt,
    truth: [
      { id: PLANTED.note, atMs: 60_000, entry: { code: 'head-delivered' }, said: true },
      { id: 'b', atMs: 61_000, entry: { code: 'free-note', text: PLANTED.note } },
      { id: 'c', atMs: 62_000, entry: { code: 'role-arrived', role: PLANTED.ownRole } },
    ],
    lines: [{ atMs: 60_000, text: PLANTED.heard, says: [PLANTED.note] }],
  };
  const truth = truthOfDrill(drill, view, vocabulary);
  return flatten({ recordId: file.recordId, view, unit: 'North', truth });
}

describe('what leaves a record for an audit', () => {
  it('the planted words do stand in the record, so that the search can find them', () => {
    const text = exportRecord(plantedRecord().file);
    const notThere = Object.values(PLANTED).filter((word) => !text.includes(word));
    expect(notThere).toEqual([]);
    expect(leaksIn(text).length).toBeGreaterThan(Object.keys(PLANTED).length);
  });

  it.each(['real', 'practice'] as const)('no name, date or free text of a %s record', (mode) => {
    const rows = rowsOf(mode);
    expect(rows.acts.length).toBeGreaterThan(5);
    expect(leaksIn(JSON.stringify(rows))).toEqual([]);
  });

  it('what a unit named itself is counted without its name', () => {
    const rows = rowsOf('real');
    expect(rows.acts.filter(({ role }) => role === OWN_ROLE)).toHaveLength(2);
    expect(rows.acts.filter(({ code }) => code === OWN_CODE)).toHaveLength(1);
    expect(rows.intervals.filter(({ role }) => role === OWN_ROLE).map(({ measure }) => measure)).toEqual([
      'help-to-arrival',
      'called-to-arrival',
    ]);
    expect(rows.fields.every(({ field }) => field !== PLANTED.unknownField)).toBe(true);
  });

  it('only listed columns exist', () => {
    const rows = rowsOf('practice');
    for (const { name, columns } of TABLES) {
      expect(rows[name].length).toBeGreaterThan(0);
      for (const row of rows[name])
        expect(Object.keys(row).sort()).toEqual(columns.map((c) => c.name).sort());
    }
  });

  it.each([
    ['another column', { births: { extra: 'x' } }],
    ['free text in a code', { acts: { code: PLANTED.note } }],
    ['a unit that nobody named', { births: { unit: 'South' } }],
    ['a day in place of a month', { births: { month: PLANTED.day } }],
    ['an id in place of a pseudonym', { births: { record: 'rec-1' } }],
    ['a text in a number', { intervals: { seconds: '60' } }],
    ['a field of no list', { fields: { field: PLANTED.unknownField } }],
    ['nothing where something must stand', { hearing: { result: null } }],
  ] as const)('%s is refused, and the refusal does not repeat it', (_, change) => {
    const rows = rowsOf('practice') as unknown as Record<string, Record<string, unknown>[]>;
    for (const [table, cells] of Object.entries(change)) Object.assign(rows[table]![0]!, cells);
    let message = '';
    try {
      checkRows(rows as never, allowedBy(vocabulary, ['North']));
    } catch (error) {
      message = String(error);
    }
    expect(message).toMatch(/Nothing was written/);
    expect(leaksIn(message)).toEqual([]);
  });

  it('pseudonyms depend on the key and tell nothing without it', () => {
    const [one, other] = [pseudonymiser(KEY), pseudonymiser(new Uint8Array(32).fill(2))];
    expect(one('rec-1')).toMatch(/^[0-9a-f]{16}$/);
    expect(one('rec-1')).toBe(one('rec-1'));
    expect(one('rec-1')).not.toBe(one('rec-2'));
    expect(one('rec-1')).not.toBe(other('rec-1'));
    expect(() => pseudonymiser(new Uint8Array(8))).toThrow(/32 bytes/);
  });

  // RFC 4231, "Identifiers and Test Vectors for HMAC-SHA-224, …", test case 7 with a key of 131 bytes 0xaa.
  it('the pseudonym is an HMAC-SHA-256', () => {
    const words =
      'This is a test using a larger than block-size key and a larger than block-size data. The key needs to be hashed before being used by the HMAC algorithm.';
    expect(pseudonymiser(new Uint8Array(131).fill(0xaa))(words)).toBe('9b09ffa71b942fcb');
  });
});
