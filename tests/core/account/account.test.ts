import fc from 'fast-check';
import { syllable } from 'syllable';
import { describe, expect, test } from 'vitest';
import { accountHash, accountOf, accountProblem, sentenceOf } from '../../../src/core/account/account.ts';
import { accountHtml } from '../../../src/core/account/html.ts';
import wordings from '../../../src/core/account/sentences.json';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { INVENTED } from '../note/invented-records.ts';

const JUDGING =
  /\b(good|bad|well|fine|normal|safe|right way|correct|mistake|fault|error|quick|fast|slow|late|delay|unfortunate|sadly|luck|sorry|success|failed|failure|promise|will|should|never|always|best|because|caused|due to)\b/i;
const accounts = Object.keys(INVENTED).map((name) => {
  const { file, view } = INVENTED[name]!();
  return { name, file, view, account: accountOf(view, deriveFacts(view)) };
});

/**
 * Flesch-Kincaid grade: 0.39 words per sentence + 11.8 syllables per word - 15.59. Kincaid JP, Fishburne RP, Rogers RL,
 * Chissom BS. Derivation of new readability formulas for Navy enlisted personnel. Research Branch Report 8-75, 1975.
 * The formula from memory. Figures ("5 minutes") count as words of one syllable.
 */
function grade(sentences: readonly string[]): number {
  const words = sentences.flatMap((sentence) => sentence.match(/[\p{L}\p{N}'’-]+/gu) ?? []);
  const syllables = words.reduce((sum, word) => sum + Math.max(1, syllable(word)), 0);
  return 0.39 * (words.length / sentences.length) + 11.8 * (syllables / words.length) - 15.59;
}

test('the grade of two known sentences', () => {
  // 12 words in 2 sentences, 12 syllables: 0.39 × 6 + 11.8 − 15.59.
  expect(grade(['The cat sat on the mat.', 'The dog ran to the door.'])).toBeCloseTo(-1.45, 5);
});

describe.each(accounts)('$name', ({ view, account, file }) => {
  test('every sentence rests on entries that stand', () => {
    const standing = new Set(
      view.entries.filter(({ status }) => status === 'logged').map(({ entryId }) => entryId),
    );
    for (const { entryIds } of [...account.lines, ...(account.headToBody ? [account.headToBody] : [])]) {
      expect(entryIds.length).toBeGreaterThan(0);
      for (const id of entryIds) expect(standing).toContain(id);
    }
    expect(account.lines.length).toBeGreaterThan(0);
  });
  test('is at most of grade 6', () => {
    const said = [...account.lines, ...(account.headToBody ? [account.headToBody] : [])];
    expect(grade(said.map(({ text }) => text))).toBeLessThanOrEqual(6);
  });
  test('a page that was not released says so', () => {
    const choices = { ownWords: '<b>own</b>', staffNames: false };
    const html = accountHtml(file, view, account, choices, null);
    expect(html).toContain('DRAFT');
    expect(html).not.toContain('<b>own</b>');
  });
});

test('no sentence judges, promises or explains', () => {
  for (const { say } of wordings.sentences) expect(say).not.toMatch(JUDGING);
});

test('of any entries: each is told by its own sentence or left out, and a struck one is not told', () => {
  const codes = [...new Set(wordings.sentences.map(({ code }) => code)), 'free-note', 'axial-traction'];
  const entry = fc.record({
    code: fc.constantFrom(...codes),
    phase: fc.constantFrom('start', 'stop', 'done', 'failed'),
  });
  fc.assert(
    fc.property(fc.array(entry, { minLength: 1, maxLength: 12 }), (entries) => {
      const record = new MadeRecord();
      entries.forEach((each, index) => record.touched(at(1, index * 3), each as never));
      const { view } = record;
      record.append({ kind: 'reviewer' }, at(9), { kind: 'strike', entryId: view.entries[0]!.entryId });
      const after = record.view;
      const account = accountOf(after, deriveFacts(after));
      const told = [
        ...account.lines.flatMap(({ entryIds }) => entryIds),
        ...account.leftOut.map((e) => e.entryId),
      ];
      const standing = after.entries.filter(({ status }) => status === 'logged');
      expect(told.sort()).toEqual(standing.map(({ entryId }) => entryId).sort());
      for (const { text, entryIds } of account.lines)
        for (const id of entryIds)
          expect(sentenceOf(after.entries.find(({ entryId }) => entryId === id)!.entry)).toBe(text);
    }),
  );
});

test('is made only from a signed record in which nothing is open', () => {
  const record = new MadeRecord().called(at(1), 'head out', { code: 'head-delivered' });
  const problem = () => accountProblem(record.view, deriveFacts(record.view));
  expect(problem()).toBe('unsigned');
  record.append({ kind: 'reviewer' }, at(2), {
    kind: 'sign',
    name: 'A',
    role: 'midwife',
    statement: 'Read.',
  });
  expect(problem()).toBe('open');
  for (const about of ['anterior-shoulder', 'head-faces'])
    record.append({ kind: 'reviewer' }, at(3), { kind: 'amend', reason: 'asked' }, { kind: 'stands', about });
  record.append({ kind: 'reviewer' }, at(4), {
    kind: 'sign',
    name: 'A',
    role: 'midwife',
    statement: 'Read.',
  });
  expect(problem()).toBeNull();
});

test('other words have another hash', () => {
  const { account } = accounts[0]!;
  expect(accountHash(account, { ownWords: '', staffNames: false })).not.toBe(
    accountHash(account, { ownWords: 'We met.', staffNames: false }),
  );
});
