import { expect, test } from 'vitest';
import { isSealed, passGate, withoutReason } from '../../../src/core/log/after-signing.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { at, MadeRecord } from './make-record.ts';

const reviewer = { kind: 'reviewer' } as const;
const helper = { kind: 'helper' } as const;
const voice = { kind: 'voice' } as const;
const late: EventBody = {
  kind: 'entry',
  entryId: 'late',
  entry: { code: 'placenta-delivered' },
  atMs: at(9),
  timing: 'heard',
};

const signed = () =>
  new MadeRecord()
    .called(at(1), 'head out', { code: 'head-delivered' })
    .append({ kind: 'system' }, at(4), { kind: 'finish', atMs: at(4) })
    .append(reviewer, at(5), { kind: 'sign', name: 'A', role: 'midwife', statement: 'Read.' })
    .append(reviewer, at(6), { kind: 'sign', name: 'B', role: 'obstetrician', statement: 'Agreed.' });
const firstEntry = (record: MadeRecord) => record.view.entries[0]!.entryId;

test('before signing everything passes', () => {
  const view = new MadeRecord().called(at(1), 'head out', { code: 'head-delivered' }).view;
  const bodies: EventBody[] = [{ kind: 'strike', entryId: view.entries[0]!.entryId }];
  expect(passGate(bodies, helper, view)).toEqual({ kind: 'passed', bodies });
});

test('after signing a new call-out is kept, whoever brings it; its reason is asked for later', () => {
  for (const by of [voice, helper]) {
    const record = signed();
    expect(passGate([late], by, record.view)).toEqual({ kind: 'passed', bodies: [late] });
    record.append(by, at(9), late);
    expect(isSealed(record.view)).toBe(true);
    expect(withoutReason(record.view)).toBe(1);
    record.append(reviewer, at(10), { kind: 'amend', reason: 'Placenta came later.' });
    expect(withoutReason(record.view)).toBe(0);
  }
});

test('what the signature covers is changed by a hand with a reason only', () => {
  const record = signed();
  const entryId = firstEntry(record);
  const changes: EventBody[] = [
    { kind: 'strike', entryId },
    { kind: 'shift', entryId, atMs: 5 },
    { kind: 'replace', entryId, entry: { code: 'cry' } },
    { kind: 'field', field: 'reference', value: 'x' },
    { kind: 'reopen', atMs: at(9) },
    { kind: 'begin', mode: 'practice' },
  ];
  for (const body of changes) {
    expect(passGate([body], helper, record.view).kind, body.kind).toBe('needs-reason');
    const amended: EventBody[] = [{ kind: 'amend', reason: 'misheard' }, body];
    expect(passGate(amended, helper, record.view), body.kind).toEqual({ kind: 'passed', bodies: amended });
  }
});

test('"undo" said after signing keeps the words and strikes nothing', () => {
  const record = signed();
  const words: EventBody = {
    kind: 'utterance',
    utteranceId: 'u',
    onsetMs: at(9),
    endMs: at(9, 1),
    heard: 'undo',
    confidence: 0.9,
    outcome: 'command',
    command: { code: 'undo' },
  };
  const strike: EventBody = { kind: 'strike', entryId: firstEntry(record) };
  expect(passGate([words, strike], voice, record.view)).toEqual({ kind: 'passed', bodies: [words] });
});

test('what came after the signature may be taken back without a reason', () => {
  const record = signed().append(voice, at(9), late);
  expect(passGate([{ kind: 'strike', entryId: 'late' }], helper, record.view).kind).toBe('passed');
});

test('opening a finished record again and again, or hearing that ends after it, is no gap in listening', () => {
  const record = signed();
  const before = record.view.interruptions;
  for (let spanId = 1; spanId <= 5; spanId++) {
    record.append({ kind: 'system' }, at(20 + spanId), {
      kind: 'continued',
      spanId,
      atMs: at(20 + spanId),
      wallMs: at(20 + spanId),
      gapKnownFrom: 'device-clock',
    });
  }
  record.append({ kind: 'system' }, at(30), { kind: 'speech-state', state: 'unavailable', atMs: at(30) });
  expect(record.view.interruptions).toEqual(before);
});
