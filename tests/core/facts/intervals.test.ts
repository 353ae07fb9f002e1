import { describe, expect, it } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { minutesSeconds } from '../../../src/core/facts/logged.ts';
import { runningClocks } from '../../../src/core/facts/running.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { checksOf, unread } from '../published-checks.ts';

const interval = (record: MadeRecord, id: string) =>
  deriveFacts(record.view).intervals.find((i) => i.id === id)!;
const sentences = (record: MadeRecord) => deriveFacts(record.view).conflicts.map((c) => c.sentence);

describe('intervals', () => {
  it.each(checksOf('interval'))('%s', (_title, check) => {
    const { head, body, precision } = check.input as {
      head: string | null;
      body: string;
      precision?: string;
    };
    const recordMs = (clock: string) => {
      const day = clock.includes('next day') ? '2026-03-06' : '2026-03-05';
      const time = clock.slice(0, 8).trim();
      return (
        Date.parse(`${day}T${time.length === 5 ? `${time}:00` : time}Z`) - Date.parse('2026-03-05T14:00:00Z')
      );
    };
    const record = new MadeRecord();
    const estimated = precision === 'minute';
    if (head !== null) record.typed(at(60), recordMs(head), { code: 'head-delivered' }, undefined, estimated);
    record.typed(at(60), recordMs(body), { code: 'body-delivered' }, undefined, estimated);
    const { value, marks } = interval(record, 'head-to-body');
    const { expected } = check;
    if (expected === 'conflict' || expected === 'not recorded') expect(value.kind).toBe(expected);
    else if (typeof expected === 'number') expect(value).toMatchObject({ kind: 'known', seconds: expected });
    else if (estimated) {
      expect(value).toMatchObject({ kind: 'known', seconds: (expected as { seconds: number }).seconds });
      expect(marks).toContain((expected as { kind: string }).kind);
    } else unread(check);
  });

  it('names formula, inputs and entries, and the interval that the printed times give', () => {
    const record = new MadeRecord()
      .called(at(2) + 10_900, 'head', { code: 'head-delivered' })
      .called(at(5) + 25_100, 'body', { code: 'body-delivered' });
    expect(interval(record, 'head-to-body')).toMatchObject({
      // 194.2 s by the clock; 14:02:10 and 14:05:25 are printed, 3:15 apart.
      value: { kind: 'known', ms: 194_200, seconds: 195 },
      formula: 'baby delivered \u2212 head delivered',
      inputs: [{ atMs: at(2) + 10_900 }, { atMs: at(5) + 25_100 }],
      entryIds: [record.idOf('head-delivered'), record.idOf('body-delivered')],
      estimated: false,
      marks: [],
    });
  });

  it('marks estimated and corrected ends, and those on both sides of a restart', () => {
    const record = new MadeRecord()
      .called(at(2), 'head', { code: 'head-delivered' })
      .called(at(6), 'body', { code: 'body-delivered' });
    const entryId = record.idOf('head-delivered');
    record.append({ kind: 'reviewer' }, at(30), { kind: 'shift', entryId, atMs: at(1, 50), estimated: true });
    expect(interval(record, 'head-to-body').marks).toEqual(['estimated', 'corrected']);
    record.file = { ...record.file, spans: [...record.file.spans, { spanId: 1, startMs: at(4), wallMs: 0 }] };
    expect(interval(record, 'head-to-body').marks).toContain('across a restart');
  });

  it('a clock offset moves displays, never an interval', () => {
    const record = new MadeRecord()
      .called(at(2), 'head', { code: 'head-delivered' })
      .called(at(6), 'body', { code: 'body-delivered' });
    const before = interval(record, 'head-to-body').value;
    record.append({ kind: 'helper' }, at(7), {
      kind: 'clock-offset',
      roomMinusDeviceMs: -93_600,
      against: 'wall clock',
    });
    expect(interval(record, 'head-to-body').value).toEqual(before);
  });

  it('has an interval for each arrival and each call', () => {
    const record = new MadeRecord()
      .called(at(2), 'help', { code: 'help-called' })
      .called(at(2, 10), 'call paeds', { code: 'role-called', role: 'paediatrician' })
      .called(at(2, 20), 'call anaesthetist', { code: 'role-called', role: 'anaesthetist' })
      .called(at(3), 'midwife here', { code: 'role-arrived', role: 'midwife' })
      .called(at(4), 'another midwife', { code: 'role-arrived', role: 'midwife' })
      .called(at(5, 10), 'paeds here', { code: 'role-arrived', role: 'paediatrician' });
    const lengths = deriveFacts(record.view)
      .intervals.filter((i) => /arrival/.test(i.label))
      .map((i) => [i.label, i.value.kind === 'known' ? minutesSeconds(i.value.seconds) : i.value.kind]);
    expect(lengths).toEqual([
      ['Help called to arrival: midwife', '1:00'],
      ['Help called to arrival: midwife (2)', '2:00'],
      ['Help called to arrival: paediatrician', '3:10'],
      ['Called to arrival: paediatrician', '3:00'],
      ['Called to arrival: anaesthetist', 'not recorded'],
    ]);
  });

  it('takes the first internal entry, and the first declaration of several', () => {
    const record = new MadeRecord()
      .called(at(1), 'head', { code: 'head-delivered' })
      .called(at(1, 20), 'dystocia', { code: 'dystocia-declared' })
      .called(at(1, 50), 'dystocia', { code: 'dystocia-declared' })
      .called(at(2), 'hand in', { code: 'internal-entry', phase: 'start' })
      .called(at(2, 30), 'hand out', { code: 'internal-entry', phase: 'stop' })
      .called(at(3), 'hand in', { code: 'internal-entry', phase: 'start' })
      .called(at(4), 'body', { code: 'body-delivered' });
    expect(interval(record, 'internal-entry-to-body').value).toMatchObject({ seconds: 120 });
    expect(interval(record, 'head-to-declaration').value).toMatchObject({ seconds: 20 });
    expect(interval(record, 'declaration-to-body').value).toMatchObject({ seconds: 160 });
  });
});

describe('conflicts', () => {
  it('shows two heads and gives no interval from them', () => {
    const record = new MadeRecord()
      .called(at(1), 'head', { code: 'head-delivered' })
      .called(at(2), 'head', { code: 'head-delivered' })
      .called(at(3), 'body', { code: 'body-delivered' });
    expect(sentences(record)).toEqual(['Head delivered is recorded 2 times: 14:01:00 and 14:02:00.']);
    expect(interval(record, 'head-to-body').value).toEqual({
      kind: 'conflict',
      why: 'head delivered is recorded 2 times (14:01:00 and 14:02:00)',
    });
  });

  it('shows times out of order and arrivals before calls', () => {
    const record = new MadeRecord()
      .called(at(1), 'declared', { code: 'dystocia-declared' })
      .called(at(2), 'head', { code: 'head-delivered' })
      .called(at(3), 'paeds here', { code: 'role-arrived', role: 'paediatrician' })
      .called(at(4), 'help', { code: 'help-called' })
      .called(at(5), 'call paeds', { code: 'role-called', role: 'paediatrician' });
    expect(sentences(record)).toEqual([
      'Times out of order: dystocia declared (14:01:00) is timed before head delivered (14:02:00).',
      'The arrival of the paediatrician (14:03:00) is timed before help was called (14:04:00).',
      'The arrival of the paediatrician (14:03:00) is timed before the paediatrician was called (14:05:00).',
    ]);
  });

  it('shows different weights and different gas values, with all readings', () => {
    const record = new MadeRecord()
      .called(at(9), 'w', { code: 'birth-weight', grams: 4200 })
      .called(at(10), 'w', { code: 'birth-weight', grams: 4020 })
      .called(at(11), 'g', { code: 'cord-gas', vessel: 'arterial', ph: 7.15 })
      .called(at(12), 'g', { code: 'cord-gas', vessel: 'arterial', ph: 7.5 });
    expect(sentences(record)).toEqual([
      'Birth weight is recorded in different ways: 4200 g (14:09:00) and 4020 g (14:10:00).',
      'Cord gas, arterial: pH is recorded in different ways: 7.15 (14:11:00) and 7.5 (14:12:00).',
    ]);
  });

  it('leaves a struck entry out', () => {
    const record = new MadeRecord().called(at(1), 'head', { code: 'head-delivered' });
    record
      .called(at(2), 'head', { code: 'head-delivered' })
      .command(at(2, 5), 'scratch that', 'undo')
      .command(at(2, 9), 'yes', 'confirm');
    expect(sentences(record)).toEqual([]);
  });
});

describe('running clocks', () => {
  it('run from the head and the declaration, and stop at the birth', () => {
    const record = new MadeRecord();
    expect(runningClocks(record.view, at(1))).toEqual({
      sinceHeadSeconds: null,
      sinceDeclarationSeconds: null,
      sinceBirthSeconds: null,
      stopped: false,
    });
    record
      .called(at(1), 'head', { code: 'head-delivered' })
      .called(at(1, 30), 'd', { code: 'dystocia-declared' });
    expect(runningClocks(record.view, at(3))).toEqual({
      sinceHeadSeconds: 120,
      sinceDeclarationSeconds: 90,
      sinceBirthSeconds: null,
      stopped: false,
    });
    record.called(at(4), 'body', { code: 'body-delivered' });
    expect(runningClocks(record.view, at(9))).toEqual({
      sinceHeadSeconds: 180,
      sinceDeclarationSeconds: 150,
      sinceBirthSeconds: 300,
      stopped: true,
    });
  });
});
