import { expect, test } from 'vitest';
import { openMatters } from '../../../src/core/desk/open-matters.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { withoutReason } from '../../../src/core/log/after-signing.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { at, MadeRecord } from '../log/make-record.ts';

const reviewer = { kind: 'reviewer' } as const;
const openIn = ({ view }: MadeRecord) => openMatters(view, deriveFacts(view));
const idsIn = (record: MadeRecord) => openIn(record).map(({ id }) => id);
const twoHeads = () =>
  new MadeRecord()
    .called(at(1), 'head out', { code: 'head-delivered' })
    .called(at(1, 20), 'head out', { code: 'head-delivered' })
    .called(at(2), 'baby out', { code: 'body-delivered' });

test('what disagrees is open until a person leaves it as it is, and again when one of its entries changes', () => {
  const record = twoHeads();
  expect(idsIn(record)).toContain('twice-head-delivered');
  record.append(reviewer, at(5), { kind: 'stands', about: 'twice-head-delivered', reason: 'both heard' });
  expect(idsIn(record)).not.toContain('twice-head-delivered');
  record.append(reviewer, at(6), { kind: 'shift', entryId: record.idOf('head-delivered'), atMs: at(1, 30) });
  expect(idsIn(record)).toContain('twice-head-delivered');
});

test('a side that nobody knows is asked once', () => {
  const record = twoHeads();
  expect(idsIn(record)).toContain('anterior-shoulder');
  record.append(reviewer, at(5), { kind: 'stands', about: 'anterior-shoulder' });
  expect(idsIn(record)).not.toContain('anterior-shoulder');
});

test('call-outs after signing are open until their reason is given', () => {
  const record = twoHeads().append(reviewer, at(5), {
    kind: 'sign',
    name: 'A',
    role: 'midwife',
    statement: 'Read.',
  });
  expect(idsIn(record)).not.toContain('after-signing');
  record.touched(at(6), { code: 'placenta-delivered' });
  expect(idsIn(record)[0]).toBe('after-signing');
  record.append(reviewer, at(7), { kind: 'amend', reason: 'It came later.' });
  expect(idsIn(record)).not.toContain('after-signing');
});

const TALK = {
  kind: 'conversation',
  conversationId: 'talk-1',
  heldAt: '2026-03-07T10:30',
  who: 'invented consultant',
  withWhom: 'both parents',
  explained: 'what was done',
  asked: 'about the arm',
  followUp: 'clinic in six weeks',
  nextPregnancy: 'to be seen early',
} as const;
const RELEASE = {
  kind: 'release',
  releaseId: 'release-1',
  name: 'A',
  role: 'midwife',
  ownWords: '',
  staffNames: false,
  textHash: 'a'.repeat(64),
} as const;

test('talks and releases disturb no signature; an amendment marks what was released as out of date', () => {
  const record = twoHeads()
    .append(reviewer, at(5), { kind: 'sign', name: 'A', role: 'midwife', statement: 'Read.' })
    .append(reviewer, at(60), RELEASE)
    .append(reviewer, at(70), TALK);
  expect(withoutReason(record.view)).toBe(0);
  expect(record.view.releases[0]!.superseded).toBeNull();
  record.append(reviewer, at(80), { ...TALK, asked: 'about both arms' });
  expect(record.view.conversations).toMatchObject([{ asked: 'about both arms', earlier: 1 }]);
  record.append(reviewer, at(90), { kind: 'amend', reason: 'The weight was wrong.' });
  expect(record.view.releases[0]!.superseded).toMatchObject({ seq: record.view.amendments[0]!.seq });
});

test('a file keeps them, and an import takes them back', () => {
  const record = twoHeads()
    .append(reviewer, at(5), { kind: 'stands', about: 'twice-head-delivered', reason: 'both heard' })
    .append(reviewer, at(6), { kind: 'sign', name: 'A', role: 'midwife', statement: 'Read.' })
    .append(reviewer, at(60), RELEASE, TALK);
  const outcome = importRecord(exportRecord(record.file));
  expect(outcome).toMatchObject({ kind: 'ok', file: { events: record.file.events } });
});
