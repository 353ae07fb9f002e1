import fc from 'fast-check';
import { expect, test } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { legible } from '../../../src/core/log/legible.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteFhir } from '../../../src/core/note/fhir.ts';
import { noteHtml } from '../../../src/core/note/html.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { emptySummary, extendSummary } from '../../../src/store/summary.ts';
import { at, MadeRecord } from './make-record.ts';
import { tableOf, tablesText } from '../note/tables-of.ts';

test.each([
  ['right-to-left override', 'pH 7.\u202e51', 'pH 7.[U+202E]51'],
  ['zero width space', 'no\u200btear', 'no[U+200B]tear'],
  ['soft hyphen', 'left\u00adright', 'left[U+00AD]right'],
  ['a control character', 'a\u0000b', 'a[U+0000]b'],
  ['a letter drawn as nothing', 'a\u3164b', 'a[U+3164]b'],
  ['a tag', 'a\u{e0041}b', 'a[U+E0041]b'],
  ['an isolate that closes nothing', 'a\u2069b', 'a[U+2069]b'],
  ['half of a pair', 'a\ud83d', 'a[U+D83D]'],
  ['Hebrew before a number', 'שלום 7.15', '\u2068שלום\u2069 7.15'],
  ['Arabic in a sentence', 'note مرحبا بك left', 'note \u2068مرحبا بك\u2069 left'],
  ['plain English, a line break', 'pH 7.15\nleft – “right” é', 'pH 7.15\nleft – “right” é'],
])('%s', (_what, written, shown) => {
  expect(legible(written)).toBe(shown);
});

test('whatever is written: nothing unseen is left but isolates in pairs, and showing twice shows the same', () => {
  const unit = fc.oneof(
    fc.string({ unit: 'grapheme' }),
    fc.constantFrom('\u202e', '\u2066', '\u2068', '\u2069', '\u200f', 'ש', 'ל 7', '\u061c', '\ufeff'),
  );
  fc.assert(
    fc.property(fc.array(unit), (parts) => {
      const shown = legible(parts.join(''));
      expect(legible(shown)).toBe(shown);
      const bare = shown.replace(/\u2068([^\u2068\u2069]+)\u2069/g, '$1');
      expect(bare).not.toMatch(/(?![\n\r\t])[\p{Cf}\p{Cc}\p{Zl}\p{Zp}]/u);
    }),
    { numRuns: 500 },
  );
});

test('the note, the list, CSV and FHIR show it; the record keeps what was written', () => {
  const written = 'left\u202eright';
  const made = new MadeRecord({ reference: `R\u200b1 ${written}` })
    .said(at(1), `heard ${written}`, { outcome: 'unrecognised', entries: [] })
    .touched(at(1), { code: 'head-delivered' })
    .touched(at(2), { code: 'free-note', text: written })
    .touched(at(3), { code: 'free-note', text: 'שלום 7.15' })
    .append({ kind: 'reviewer', name: written }, at(4), {
      kind: 'strike',
      entryId: 'id-3',
      reason: written,
    })
    .command(at(5), 'finish', 'finish');
  const { view, file } = made;
  const note = buildNote(file, view, deriveFacts(view), loadVocabulary(), { howHeard: true });
  const renderings = [noteText(note), noteHtml(note), tablesText(note), noteFhir(note)];
  for (const rendering of renderings) {
    expect(rendering).not.toMatch(/[\u202e\u200b]/);
    expect(rendering).toContain('[U+202E]');
    expect(rendering).toContain('\u2068שלום\u2069 7.15');
  }
  expect(tableOf(note, 'entries.csv')).toHaveLength(view.entries.length);
  expect(extendSummary(emptySummary(file), file.events).reference).toBe('R[U+200B]1 left[U+202E]right');
  expect(JSON.stringify(file)).toContain('\u202e');
  expect(JSON.stringify(view)).not.toContain('\u202e');
});
