import { describe, expect, test } from 'vitest';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import type { Entry } from '../../../src/core/entry.ts';
import type { EventBody, RecordFile } from '../../../src/core/log/events.ts';
import { anchorMs, typedTime } from '../../../src/ui/entry-form/desk-times.ts';
import { isSealed } from '../../../src/core/log/after-signing.ts';
import { inverseOf } from '../../../src/ui/desk/desk.svelte.ts';
import { changeFigure, loggedOf, atOdds } from '../../../src/ui/review/figure-events.ts';
import { filterRows, logRows } from '../../../src/ui/review/log-rows.ts';
import { signingProblem } from '../../../src/ui/sign/signing.ts';
import { roomTime } from '../../../src/ui/common/times.ts';
import { fullBirth, recordOf, said } from '../../browser/desk-fixtures.ts';

const now = { atMs: 400_000, timing: 'touch' as const, estimated: false };
let ids = 0;
const newId = () => `new${(ids += 1)}`;

function withEvents(file: RecordFile, bodies: EventBody[], by: 'helper' | 'reviewer' = 'helper'): RecordFile {
  const made = { by: { kind: by }, madeAtMs: 400_000, madeAt: '2026-10-14T13:46:40.000+01:00' } as const;
  return { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, bodies, made)] };
}

const arterial = { vessel: 'arterial' } as const;
const gasRecord = (...entries: Entry[]) =>
  recordOf({ recordId: 'gas', steps: entries.map((entry, at) => said(1000 * (at + 1), 'gas', entry)) });

describe('a figure is changed by replacing, never by writing over', () => {
  test('a value told in two call-outs: each stays with its own entry', () => {
    const file = gasRecord(
      { code: 'cord-gas', vessel: 'arterial', ph: 7.08 },
      { code: 'cord-gas', vessel: 'arterial', baseExcess: -11 },
    );
    const existing = loggedOf(foldRecord(file), 'cord-gas', arterial);
    expect(atOdds(existing)).toBe(false);
    const next: Entry = { code: 'cord-gas', vessel: 'arterial', ph: 7.08, baseExcess: -12, lactate: 7 };
    const bodies = changeFigure(existing, next, arterial, now, newId);
    expect(bodies).toEqual([
      {
        kind: 'replace',
        entryId: 'e2000',
        entry: { code: 'cord-gas', vessel: 'arterial', baseExcess: -12, lactate: 7 },
      },
    ]);
    const after = loggedOf(foldRecord(withEvents(file, bodies)), 'cord-gas', arterial);
    expect(after.map(({ entry }) => entry)).toEqual([
      { code: 'cord-gas', vessel: 'arterial', ph: 7.08 },
      { code: 'cord-gas', vessel: 'arterial', baseExcess: -12, lactate: 7 },
    ]);
  });
  test('nothing changed makes no event', () => {
    const entry: Entry = { code: 'cord-gas', vessel: 'arterial', ph: 7.08 };
    const existing = loggedOf(foldRecord(gasRecord(entry)), 'cord-gas', arterial);
    expect(changeFigure(existing, { ...entry }, arterial, now, newId)).toEqual([]);
  });
  test('two different values are at odds', () => {
    const view = foldRecord(
      gasRecord(
        { code: 'cord-gas', vessel: 'arterial', ph: 7.08 },
        { code: 'cord-gas', vessel: 'arterial', ph: 7.18 },
      ),
    );
    expect(atOdds(loggedOf(view, 'cord-gas', arterial))).toBe(true);
  });
  test('the other vessel is left alone', () => {
    const file = gasRecord({ code: 'cord-gas', vessel: 'venous', ph: 7.3 });
    const bodies = changeFigure(
      loggedOf(foldRecord(file), 'cord-gas', arterial),
      { code: 'cord-gas', vessel: 'arterial', ph: 7.2 },
      arterial,
      now,
      newId,
    );
    expect(bodies.map(({ kind }) => kind)).toEqual(['entry']);
  });
});

describe('undo at the desk', () => {
  const file = fullBirth('undo');
  const before = foldRecord(file);
  test.each<[string, EventBody[]]>([
    ['entry', [{ kind: 'entry', entryId: 'x', entry: { code: 'cry' }, atMs: 1, timing: 'touch' }]],
    ['replace', [{ kind: 'replace', entryId: 'e239000', entry: { code: 'apgar', minute: 1, score: 6 } }]],
    ['shift', [{ kind: 'shift', entryId: 'e179000', atMs: 170_000 }]],
    ['strike', [{ kind: 'strike', entryId: 'e179000' }]],
    ['restore', [{ kind: 'restore', entryId: 'e34000' }]],
    ['field', [{ kind: 'field', field: 'anaesthesia', value: 'epidural' }]],
    ['clock', [{ kind: 'clock-offset', roomMinusDeviceMs: 5000, against: 'wall clock' }]],
    ['answer', [{ kind: 'confirm', questionId: 'q258000', entryIds: ['y'], entries: [{ code: 'cry' }] }]],
  ])('%s: what stood before stands again', (_kind, bodies) => {
    const done = withEvents(file, bodies);
    const undone = foldRecord(withEvents(done, inverseOf(bodies, before)!));
    const told = ({ entries, fields, clockOffset }: typeof before) => ({
      entries: entries
        .filter(({ status }) => status === 'logged')
        .map(({ entryId, entry, atMs }) => ({ entryId, entry, atMs })),
      fields: Object.keys(fields),
      clockOffset,
    });
    expect(told(foldRecord(done))).not.toEqual(told(before));
    expect(told(undone)).toEqual(told(before));
  });
  test('a signature cannot be taken back', () => {
    expect(inverseOf([{ kind: 'sign', name: 'A', role: 'midwife', statement: 's' }], before)).toBeNull();
  });
});

describe('signing', () => {
  const sign = (name: string): EventBody => ({ kind: 'sign', name, role: 'midwife', statement: 's' });
  const once = withEvents(fullBirth('sign'), [sign('Invented One')], 'reviewer');
  test('seals the record until an amendment opens it', () => {
    expect(isSealed(foldRecord(fullBirth('sign')))).toBe(false);
    expect(isSealed(foldRecord(once))).toBe(true);
    expect(isSealed(foldRecord(withEvents(once, [{ kind: 'amend', reason: 'late result' }])))).toBe(false);
  });
  test('needs a name, a role and another person the second time', () => {
    const view = foldRecord(once);
    expect(signingProblem(view, ' ', 'midwife')).toBe('name');
    expect(signingProblem(view, 'Invented Two', '')).toBe('role');
    expect(signingProblem(view, ' invented  ONE ', 'midwife')).toBe('same');
    expect(signingProblem(view, 'Invented Two', 'midwife')).toBeNull();
  });
  test('after an amendment the first may sign again', () => {
    const amended = foldRecord(withEvents(once, [{ kind: 'amend', reason: 'late result' }]));
    expect(signingProblem(amended, 'Invented One', 'midwife')).toBeNull();
  });
});

describe('typed times', () => {
  const view = foldRecord(fullBirth('times'));
  test('are sought near the birth, even when typed days later', () => {
    const days = 3 * 86_400_000;
    const found = typedTime(view, '13:43:05', anchorMs(view, days));
    expect(found).toEqual({ kind: 'time', atMs: 185_000, estimated: false });
  });
  test('known to the minute only they are estimated', () => {
    const found = typedTime(view, '13:43', anchorMs(view, 400_000));
    expect(found).toEqual({ kind: 'time', atMs: 180_000, estimated: true });
  });
  test('follow the room’s clock where it differs, and read back the same', () => {
    const moved = foldRecord(
      withEvents(fullBirth('times'), [
        { kind: 'clock-offset', roomMinusDeviceMs: 90_500, against: 'wall clock' },
      ]),
    );
    const found = typedTime(moved, '13:45:00', anchorMs(moved, 400_000));
    expect(found.kind === 'time' && roomTime(moved, found.atMs)).toBe('13:45:00');
  });
  test('midnight in between is found on the right day', () => {
    const late = foldRecord(
      recordOf({
        recordId: 'late',
        wallMs: Date.UTC(2026, 9, 14, 22, 59, 0),
        steps: [said(30_000, 'baby out', { code: 'body-delivered' })],
      }),
    );
    expect(typedTime(late, '00:01:00', 30_000)).toEqual({ kind: 'time', atMs: 120_000, estimated: false });
  });
  test.each(['25:00', '13:61', '13', 'noon', '13:4'])('%s is refused', (typed) =>
    expect(typedTime(view, typed, 0).kind).toBe('refused'),
  );
});

describe('lines of the review', () => {
  const view = foldRecord(fullBirth('rows'));
  const rows = logRows(view);
  test('every entry and every utterance is in one line, in time order', () => {
    const times = rows.map(({ atMs }) => atMs);
    expect(times).toEqual([...times].sort((a, b) => a - b));
    const entries = rows.flatMap((row) => (row.kind === 'entry' ? [row.entry.entryId] : []));
    expect(entries.toSorted()).toEqual(view.entries.map(({ entryId }) => entryId).toSorted());
    const heard = rows.flatMap((row) =>
      row.kind !== 'question' && row.utterance ? [row.utterance.utteranceId] : [],
    );
    expect(new Set(heard)).toEqual(new Set(view.utterances.map(({ utteranceId }) => utteranceId)));
  });
  test('the filters find what they name', () => {
    const ids = (filter: Parameters<typeof filterRows>[1]) => filterRows(rows, filter).map(({ id }) => id);
    expect(ids('not-understood')).toEqual(['u70000', 'u118000']);
    expect(ids('open')).toEqual(['u258000']);
    expect(ids('changed')).toEqual(['e34000', 'e46000', 'e149000']);
  });
});
