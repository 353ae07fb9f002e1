import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { PRACTICE_MARK, type Note } from '../../../src/core/note/model.ts';
import { noteTables } from '../../../src/core/note/tables/csv.ts';
import { columnName, columnsOf } from '../../../src/core/note/tables/slot-columns.ts';
import { isoText } from '../../../src/core/note/times.ts';
import { ALL_SLOTS, choiceValues, isChoice, slotInfo, type SlotInfo } from '../../../src/core/slots.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { INVENTED } from './invented-records.ts';
import { rowsOf, tableOf } from './tables-of.ts';

const noteOf = ({ file, view }: MadeRecord): Note =>
  buildNote(file, view, deriveFacts(view), loadVocabulary());

/** A value of its kind for every slot; numbers that a careless writer would turn into text or round. */
function valueOf({ values, numbers, yesNo, number, parts }: SlotInfo, index: number): unknown {
  if (values) return Object.keys(values).at(-1);
  if (numbers) return Number(Object.keys(numbers)[0]);
  if (yesNo) return index % 2 === 0;
  if (number?.fileWhole) return number.file[0];
  if (number) return number.file[0]! < 0 ? -5.25 : index % 3 === 0 ? 0 : 3.125;
  if (parts) return Object.fromEntries(Object.keys(parts).map((part, nth) => [part, nth % 3]));
  return `words ${index}, "quoted"\nsecond line`;
}

/** A record in which every slot of the schema was said once, each in an entry of its own. */
function everySlot(mode: 'real' | 'practice' = 'real'): MadeRecord {
  const record = new MadeRecord({ mode, timeZone: 'Asia/Kolkata' });
  for (const [index, slot] of ALL_SLOTS.entries())
    record.touched(at(1, index), { code: 'free-note', [slot]: valueOf(slotInfo(slot), index) } as Entry);
  return record;
}

const signed = (record: MadeRecord): MadeRecord =>
  record.append({ kind: 'reviewer' }, at(50), {
    kind: 'sign',
    name: 'Invented One',
    role: '',
    statement: 'As recorded.',
  });

const TYPES: Record<string, RegExp> = {
  text: /^/,
  choice: /^[\w./%[\]{}() +'-]+$/,
  'whole number': /^-?\d+$/,
  number: /^-?\d+(\.\d+)?$/,
  boolean: /^(true|false)$/,
  time: /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?([+-]\d\d:\d\d|Z)$/,
};
const FILES = ['entries.csv', 'intervals.csv', 'signatures.csv', 'columns.csv'];

/** Every cell is empty or what columns.csv says of its column, and every column is described once, in order. */
function expectTyped(note: Note) {
  const described = tableOf(note, 'columns.csv');
  const files = noteTables(note);
  expect(files.map(({ name }) => name)).toEqual(FILES);
  for (const { name, text } of files) {
    expect(text).toMatch(/^\uFEFF[^\n]+\r\n(.*\r\n)?$/s);
    const own = described.filter(({ file }) => file === name);
    const head = text.slice(1, text.indexOf('\r\n')).split(',');
    expect(own.map(({ column }) => column)).toEqual(head);
    for (const { column, meaning } of own) {
      expect(column).toMatch(column === PRACTICE_MARK ? /^/ : /^[a-z][a-z0-9_]*$/);
      expect(meaning).toMatch(/\S.*\.$/);
    }
    for (const row of rowsOf(text)) {
      for (const { column, type, choices } of own) {
        const cell = row[column!]!;
        if (cell === '') continue;
        expect(cell, `${name} ${column}`).toMatch(TYPES[type!]!);
        expect(cell.toLowerCase()).not.toMatch(/^(not recorded|none|not spoken|null|undefined|nan)$/);
        if (type === 'choice') expect(choices!.split('; '), `${name} ${column}`).toContain(cell);
      }
    }
  }
}

describe('the tables', () => {
  it.each(Object.keys(INVENTED))('of %s: every cell is of its column’s type, or empty', (name) => {
    expectTyped(noteOf(INVENTED[name]!()));
  });

  it('of a record with every slot: likewise, and each value reads back as the record holds it', () => {
    const record = everySlot();
    const note = noteOf(record);
    expectTyped(note);
    const rows = tableOf(note, 'entries.csv');
    expect(rows).toHaveLength(ALL_SLOTS.length);
    const all = ALL_SLOTS.flatMap((slot) => columnsOf(slot, slotInfo(slot)).map(({ name }) => name));
    for (const [index, slot] of ALL_SLOTS.entries()) {
      const info = slotInfo(slot);
      const value = valueOf(info, index);
      const wanted: Record<string, string> = info.parts
        ? Object.fromEntries(
            Object.entries(value as object).map(([part, of]) => [
              `${columnName(slot, info)}_${part.replace('R', '_r')}`,
              String(of),
            ]),
          )
        : { [columnName(slot, info)]: String(value) };
      const filled = Object.fromEntries(
        all.filter((name) => rows[index]![name] !== '').map((name) => [name, rows[index]![name]]),
      );
      expect(filled).toEqual(wanted);
      expect(rows[index]!['other_slots']).toBe('');
    }
  });

  it('list every choice that a slot has', () => {
    const described = tableOf(noteOf(new MadeRecord()), 'columns.csv');
    for (const slot of ALL_SLOTS.filter(isChoice)) {
      const { type, choices } = described.find(
        ({ file, column }) => file === 'entries.csv' && column === columnName(slot, slotInfo(slot)),
      )!;
      if (type === 'choice') expect(choices).toBe(choiceValues(slot).join('; '));
      else expect(['boolean', 'whole number']).toContain(type);
    }
  });

  it('tell times, states and lengths as the record holds them, with the offset of its zone', () => {
    const record = new MadeRecord({ timeZone: 'Asia/Kolkata' })
      .called(at(1), 'head delivered', { code: 'head-delivered' })
      .called(at(0, 30), 'help', { code: 'help-called' })
      .called(at(4, 15), 'baby out', { code: 'body-delivered' });
    record.append({ kind: 'reviewer', name: 'Invented One' }, at(9), {
      kind: 'strike',
      entryId: record.idOf('help-called'),
      reason: '',
    });
    const note = noteOf(record);
    const rows = tableOf(note, 'entries.csv');
    expect(rows.map((row) => [row['code'], row['entry_status'], row['from_head_seconds']])).toEqual([
      ['help-called', 'struck', '-30'],
      ['head-delivered', 'logged', '0'],
      ['body-delivered', 'logged', '195'],
    ]);
    for (const [index, { entry }] of note.lines.entries())
      expect(rows[index]!['entry_time']).toBe(isoText(record.view, entry.atMs));
    expect(rows[1]!['entry_time']).toBe('2026-03-05T19:31:00.000+05:30');
    expect(rows[0]!['changes']).toBe('strike by reviewer (Invented One)');
    const [headToBody] = tableOf(note, 'intervals.csv');
    expect(headToBody).toMatchObject({
      interval: 'head-to-body',
      length_seconds: '195',
      length_device_clock_seconds: '',
      from_time: '2026-03-05T19:31:00.000+05:30',
      to_time: '2026-03-05T19:34:15.000+05:30',
      missing: '',
      conflict: '',
      entry_numbers: '2; 3',
    });
  });

  it.each(Object.keys(INVENTED))('of %s hold every interval of the note, and every signature', (name) => {
    const note = noteOf(INVENTED[name]!());
    const rows = tableOf(note, 'intervals.csv');
    expect(rows.map((row) => row['interval'])).toEqual(note.facts.intervals.map(({ id }) => id));
    for (const [index, { value }] of note.facts.intervals.entries()) {
      const row = rows[index]!;
      expect(row['length_seconds']).toBe(value.kind === 'known' ? String(value.seconds) : '');
      expect(row['missing']).toBe(value.kind === 'not recorded' ? value.missing : '');
      expect(row['conflict']).toBe(value.kind === 'conflict' ? value.why : '');
    }
    const acts = tableOf(note, 'signatures.csv').map((row) => [row['act'], row['event_number']]);
    const { signatures, amendments, releases } = note.view;
    const wanted = [
      ...signatures.map(({ seq }) => ['signature', String(seq)]),
      ...amendments.map(({ seq }) => ['amendment', String(seq)]),
      ...releases.map(({ seq }) => ['release', String(seq)]),
    ];
    expect(acts).toEqual(wanted.sort((a, b) => Number(a[1]) - Number(b[1])));
  });

  it('are empty where nothing was said: no role, no reason, no time, no length', () => {
    const record = signed(new MadeRecord().touched(at(1), { code: 'suprapubic-pressure' }));
    const note = noteOf(record);
    const [entry] = tableOf(note, 'entries.csv');
    for (const column of [
      'side',
      'volume_millilitres',
      'from_head_seconds',
      'heard',
      'confidence',
      'changes',
    ])
      expect(entry![column], column).toBe('');
    expect(tableOf(note, 'intervals.csv')[0]).toMatchObject({
      length_seconds: '',
      from_time: '',
      to_time: '',
    });
    expect(tableOf(note, 'signatures.csv')).toEqual([
      expect.objectContaining({ name: 'Invented One', role: '', reason: '', changed_after: 'false' }),
    ]);
  });

  it('say of a signature that the record was changed after it', () => {
    const record = signed(new MadeRecord().touched(at(1), { code: 'head-delivered' }));
    record.append({ kind: 'reviewer', name: 'Invented Two' }, at(51), {
      kind: 'amend',
      reason: 'a second look',
    });
    record.typed(at(52), at(2), { code: 'body-delivered' });
    expect(tableOf(noteOf(record), 'signatures.csv')).toEqual([
      expect.objectContaining({ act: 'signature', changed_after: 'true' }),
      expect.objectContaining({
        act: 'amendment',
        amended_by: 'reviewer',
        name: 'Invented Two',
        reason: 'a second look',
        changed_after: '',
      }),
    ]);
  });

  it('run nothing in a spreadsheet and keep every character; numbers stay numbers', () => {
    const texts = ['=1+1', '+44', '-2', '@SUM(A1)', '=1\n+2', '＝1+1', 'a,"b"\nc', 'é ü 字', ' <b>x</b>'];
    const record = new MadeRecord();
    for (const [index, heard] of texts.entries())
      record.called(at(1, index), heard, { code: 'free-note', text: heard });
    record.touched(at(2), { code: 'cord-gas', vessel: 'arterial', baseExcess: -12.5 });
    for (const hostile of ['=HYPERLINK("x")', '\t=1'])
      record.append({ kind: 'reviewer', name: hostile }, at(50), {
        kind: 'sign',
        name: hostile,
        role: hostile,
        statement: hostile,
      });
    const note = noteOf(record);
    const rows = tableOf(note, 'entries.csv');
    for (const [index, text] of texts.entries()) {
      const held = note.lines[index]!.entry.entry.text!;
      expect(held).toBe(text);
      for (const column of ['text', 'heard'])
        expect(rows[index]![column]).toBe(/^[=+\-@＝]/.test(text) ? `'${text}` : text);
    }
    expect(rows.at(-1)!['base_excess_millimoles_per_litre']).toBe('-12.5');
    expect(tableOf(note, 'signatures.csv')[0]).toMatchObject({
      name: `'=HYPERLINK("x")`,
      role: `'=HYPERLINK("x")`,
      statement: `'=HYPERLINK("x")`,
    });
    for (const { text } of noteTables(note))
      for (const row of rowsOf(text))
        for (const cell of Object.values(row))
          if (!/^-\d+(\.\d+)?$/.test(cell)) expect(cell).not.toMatch(/^[=+\-@\t\r\n＝]/);
  });

  it('of a practice record carry its mark in every file and row, also where there is no row', () => {
    const note = noteOf(everySlot('practice'));
    expect(tableOf(note, 'signatures.csv')).toEqual([]);
    for (const { text } of noteTables(note)) {
      expect(text.startsWith(`\uFEFF${PRACTICE_MARK},kind,record,`)).toBe(true);
      for (const row of rowsOf(text))
        expect(row).toMatchObject({ [PRACTICE_MARK]: PRACTICE_MARK, kind: 'practice' });
    }
    for (const { text } of noteTables(noteOf(everySlot()))) {
      expect(text).not.toContain('PRACTICE');
      for (const row of rowsOf(text)) expect(row['kind']).toBe('real');
    }
  });

  it('lose nothing of a slot that this version does not know, or that holds another kind of value', () => {
    const entry = { code: 'free-note', newSlot: 3, ph: 'seven', side: 'left', parts: { tone: 1, smell: 2 } };
    const [row] = tableOf(noteOf(new MadeRecord().touched(at(1), entry as unknown as Entry)), 'entries.csv');
    expect(row).toMatchObject({ ph: '', side: 'left', apgar_tone: '1' });
    expect(JSON.parse(row!['other_slots']!)).toEqual({
      newSlot: 3,
      ph: 'seven',
      parts: { tone: 1, smell: 2 },
    });
  });
});

describe('columns of slots', () => {
  const info = (more: Partial<SlotInfo>): SlotInfo => ({ about: 'x.', name: 'x', shortName: 'x', ...more });

  it('no two columns of a file have one name', () => {
    const described = tableOf(noteOf(new MadeRecord()), 'columns.csv');
    const names = described.map(({ file, column }) => `${file} ${column}`);
    expect(new Set(names).size).toBe(names.length);
  });

  it.each([
    ['bloodLoss', 'mL', 'blood_loss_millilitres'],
    ['millilitres', 'mL', 'millilitres'],
    ['lactate', 'mmol/L', 'lactate_millimoles_per_litre'],
    ['pco2Mmhg', 'mm[Hg]', 'pco2_mmhg'],
    ['pulse', '/min', 'pulse_per_minute'],
    ['ph', '[pH]', 'ph'],
    ['count', '{count}', 'count'],
    ['newValue', 'U/kg', 'new_value_u_per_kg'],
  ])('a slot %s in %s is the column %s', (slot, unit, column) => {
    expect(columnName(slot, info({ unit, number: { range: [0, 1], file: [0, 1] } }))).toBe(column);
  });

  it('a new slot of any kind is a typed column without more being said', () => {
    const made = (slot: string, more: Partial<SlotInfo>) =>
      columnsOf(slot, info(more)).map(({ name, type, unit, choices }) => ({ name, type, unit, choices }));
    expect(made('newFlag', { yesNo: { true: 'yes', false: 'no' } })).toMatchObject([
      { name: 'new_flag', type: 'boolean' },
    ]);
    expect(made('newChoice', { values: { a: 'A', b: 'B' } })).toMatchObject([
      { name: 'new_choice', type: 'choice', choices: ['a', 'b'] },
    ]);
    expect(made('newWords', { words: { longest: 9 } })).toMatchObject([{ name: 'new_words', type: 'text' }]);
    expect(made('newParts', { parts: { one: 'one', two: 'two' } })).toMatchObject([
      { name: 'new_parts_one', type: 'whole number' },
      { name: 'new_parts_two', type: 'whole number' },
    ]);
  });

  it('an amount names the column of its unit', () => {
    expect(columnsOf('amount', slotInfo('amount'))).toMatchObject([{ name: 'amount', unit: 'see unit' }]);
  });
});
