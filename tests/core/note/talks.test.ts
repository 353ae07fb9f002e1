import { expect, test } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteFhir } from '../../../src/core/note/fhir.ts';
import { noteHtml } from '../../../src/core/note/html.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { at, MadeRecord } from '../log/make-record.ts';

const reviewer = { kind: 'reviewer' } as const;
const SIGN = { kind: 'sign', name: 'A', role: 'midwife', statement: 'Read.' } as const;
const TALK = {
  kind: 'conversation',
  conversationId: 'talk-1',
  heldAt: '2026-03-07T10:30',
  who: 'invented consultant',
  withWhom: 'both parents',
  explained: 'what was done',
  asked: '',
  followUp: 'clinic in six weeks',
  nextPregnancy: '<b>talk early</b>',
} as const;
const birth = () => new MadeRecord().called(at(1), 'baby out', { code: 'body-delivered' });
const noteOf = ({ file, view }: MadeRecord) =>
  buildNote(file, view, deriveFacts(view), loadVocabulary(), { howHeard: true });
/** The section in plain text, spaces and line breaks as one space. */
const sectionIn = (record: MadeRecord) =>
  noteText(noteOf(record)).split('TALKS WITH THE FAMILY')[1]?.replace(/\s+/g, ' ');

test('a record without a talk has no such section', () => {
  expect(sectionIn(birth())).toBeUndefined();
  expect(noteOf(birth()).sections.map(({ id }) => id)).not.toContain('talks');
});

test('talks stand last, each under its own date, in the order in which they were held', () => {
  const record = birth().append(
    reviewer,
    at(70),
    { ...TALK, conversationId: 'later', heldAt: '2026-03-09T08:05', who: 'invented midwife' },
    TALK,
  );
  expect(noteOf(record).sections.at(-1)!.id).toBe('talks');
  expect(sectionIn(record)).toMatch(
    /Talk on 7 March 2026, 10:30: invented consultant, with both parents \(written on 5 Mar 2026, .* by .*\) Explained: what was done Asked: not recorded Agreed for follow-up: clinic in six weeks For a next pregnancy: <b>talk early<\/b> Talk on 9 March 2026, 08:05: invented midwife/,
  );
  expect(sectionIn(record)).not.toContain('SIGNING');
  const html = noteHtml(noteOf(record));
  expect(html).toContain('<h2 id="talks-title">Talks with the family</h2>');
  expect(html).toContain('&lt;b&gt;talk early');
  expect(html).not.toContain('<b>talk early');
});

test('added after signing is said, and so is a later signature that covers it', () => {
  const record = birth().append(reviewer, at(5), SIGN).append(reviewer, at(70), TALK);
  expect(sectionIn(record)).toContain(', AFTER SIGNING, NOT COVERED by the signatures)');
  expect(noteText(noteOf(record))).not.toContain('AFTER THE LAST SIGNATURE');
  record.append(reviewer, at(80), SIGN);
  expect(sectionIn(record)).toContain(', AFTER SIGNING)');
  expect(sectionIn(record)).not.toContain('NOT COVERED');
});

test('a correction keeps every earlier text', () => {
  const record = birth()
    .append(reviewer, at(70), TALK)
    .append(reviewer, at(80), { ...TALK, asked: 'about both arms' })
    .append(reviewer, at(90), { ...TALK, asked: 'about one arm', explained: 'more' });
  const section = sectionIn(record)!;
  expect(section).toContain('Explained: more Asked: about one arm');
  expect(section.match(/Before correction/g)).toHaveLength(2);
  expect(section).toMatch(
    /Before correction .*asked: not recorded.*Before correction .*asked: about both arms/,
  );
});

test('a time that is no date stands as it was written', () => {
  const record = birth().append(reviewer, at(70), { ...TALK, heldAt: '2026-13-40T10:30' });
  expect(sectionIn(record)).toContain('Talk on 2026-13-40T10:30:');
});

test('the FHIR document, which is attested as a whole, leaves talks out', () => {
  const record = birth().append(reviewer, at(5), SIGN).append(reviewer, at(70), TALK);
  const document = JSON.stringify(noteFhir(noteOf(record)));
  expect(document).toContain('Labour process');
  expect(document).not.toContain('clinic in six weeks');
  expect(document).not.toContain('Talks with the family');
});
