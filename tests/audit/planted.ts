import { at, MadeRecord } from '../core/log/make-record.ts';

/** What must never leave a record for an audit: names, dates, free text. Each stands in a record below. */
export const PLANTED = {
  reference: 'Planted Reference 4711',
  author: 'Planted Author',
  signer: 'Planted Signer',
  signerRole: 'Planted Signer Role',
  statement: 'Planted statement of a signature',
  heard: 'planted words that were heard',
  secondReading: 'planted second reading',
  note: 'planted free note about somebody',
  typedField: 'planted names of the staff present',
  unknownField: 'planted-field',
  reason: 'planted reason of a correction',
  amendment: 'planted reason of an amendment',
  ownRole: 'planted-own-role',
  ownCode: 'planted-own-code',
  drug: 'planteddrugol',
  dose: 'planted dose words',
  spoken: 'planted words as spoken',
  offsetAgainst: 'planted clock of somebody',
  why: 'planted why of lost speech',
  day: '2026-03-17',
  timeOfDay: '14:0',
} as const;

/** A record that holds every planted word in the place where such a thing stands. */
export function plantedRecord(mode: 'real' | 'practice' = 'real'): MadeRecord {
  const author = { kind: 'reviewer', name: PLANTED.author } as const;
  const record = new MadeRecord({
    mode,
    reference: PLANTED.reference,
    startAt: `${PLANTED.day}T14:00:00Z`,
    timeZone: 'Europe/London',
  });
  record
    .called(at(1), 'head delivered', { code: 'head-delivered' })
    .called(at(1, 10), 'help', { code: 'help-called' })
    .called(at(1, 20), PLANTED.heard, { code: 'role-called', role: PLANTED.ownRole })
    .called(at(1, 50), PLANTED.heard, { code: 'role-arrived', role: PLANTED.ownRole })
    .called(at(2), PLANTED.heard, { code: PLANTED.ownCode, phase: 'start' })
    .called(at(2, 5), PLANTED.heard, { code: 'free-note', text: PLANTED.note, spoken: PLANTED.spoken })
    .called(at(2, 30), 'baby out', { code: 'body-delivered' })
    .called(at(3), PLANTED.heard, { code: 'drug-given', drug: PLANTED.drug, dose: PLANTED.dose })
    .said(at(4), PLANTED.heard, { outcome: 'unrecognised', entries: [] }, PLANTED.secondReading)
    .said(at(5), PLANTED.heard, {
      outcome: 'ask',
      entries: [{ code: 'free-note', text: PLANTED.note }],
      problem: 'unclear',
    })
    .field(at(6), 'staff-present', PLANTED.typedField, author)
    .field(at(6), PLANTED.unknownField, PLANTED.typedField, author);
  record.append(author, at(7), {
    kind: 'shift',
    entryId: record.idOf('help-called'),
    atMs: at(1, 12),
    reason: PLANTED.reason,
  });
  record.append(author, at(7, 30), {
    kind: 'clock-offset',
    roomMinusDeviceMs: 1000,
    against: PLANTED.offsetAgainst,
  });
  record.append({ kind: 'system' }, at(8), {
    kind: 'speech-state',
    state: 'unavailable',
    why: PLANTED.why,
    atMs: at(8),
  });
  record.append(author, at(9), { kind: 'finish', atMs: at(9) });
  record.append(author, at(10), {
    kind: 'sign',
    name: PLANTED.signer,
    role: PLANTED.signerRole,
    statement: PLANTED.statement,
  });
  return record.append(author, at(11), { kind: 'amend', reason: PLANTED.amendment });
}

/** Planted words, and anything like a date or a time of day, that stand in a text; case does not matter. */
export function leaksIn(text: string): string[] {
  const low = text.toLowerCase();
  const words = Object.values(PLANTED).filter((word) => low.includes(word.toLowerCase()));
  const single = ['planted', 'rec-1'].filter((word) => low.includes(word));
  const dates = /\d{4}-\d{2}-\d{2}|\d{1,2}:\d{2}:\d{2}/.exec(text) ?? [];
  return [...words, ...single, ...dates];
}
