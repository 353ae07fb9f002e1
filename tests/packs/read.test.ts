import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { interpret } from '../../src/core/interpret/interpret.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { entryOf } from '../core/interpret/table.ts';
import known from './known.json';

// Lines written before anybody built what reads them; the counts are those of today and may only rise. A record in
// which one amount of blood stands already: a second one without "total" or "further" is asked about.
const vocabulary = loadVocabulary();
const context = { asking: false, measuredLoss: true };

interface Line {
  text: string;
  outcome: string;
  right: boolean;
  read: string;
}

const sorted = (entry: object): string =>
  JSON.stringify(Object.entries(entry).sort(([a], [b]) => (a < b ? -1 : 1)));

function linesOf(pack: string): Line[] {
  return readFileSync(new URL(`${pack}.tsv`, import.meta.url), 'utf8')
    .split('\n')
    .filter((row) => row !== '' && !row.startsWith('#'))
    .map((row) => {
      const [text = '', outcome = '', entries = '', more = ''] = row.split('\t');
      const wanted = entries === '' ? [] : entries.split(' + ').map((one) => entryOf(one, vocabulary));
      const meaning = interpret({ tuned: { text } }, context, vocabulary);
      const problem = /problem=(\S+)/.exec(more)?.[1];
      const right =
        meaning.outcome === outcome &&
        meaning.entries.map(sorted).join() === wanted.map(sorted).join() &&
        (meaning.outcome === 'ask' ? meaning.problem : undefined) === problem;
      return { text, outcome, right, read: meaning.outcome };
    });
}

describe.each(['newborn', 'haemorrhage'] as const)('the %s pack', (pack) => {
  const lines = linesOf(pack);

  it('accepts nothing wrongly but what is listed', () =>
    expect(lines.filter(({ right, read }) => !right && read === 'accept').map(({ text }) => text)).toEqual(
      known[pack].wrong,
    ));

  it('reads as many lines right as it did, or more', () => {
    expect(lines.length).toBeGreaterThanOrEqual(600);
    expect(lines.filter(({ right }) => right).length).toBeGreaterThanOrEqual(known[pack].right);
  });
});

describe('a second amount of blood', () => {
  const read = (text: string, measuredLoss: boolean) =>
    interpret({ tuned: { text } }, { asking: false, measuredLoss }, vocabulary);

  it('is asked about where it was not said whether it is the total', () => {
    expect(read('blood loss five hundred', true)).toMatchObject({
      outcome: 'ask',
      problem: 'basis-missing',
    });
    expect(read('total blood loss five hundred', true)).toMatchObject({ outcome: 'accept' });
    expect(read('blood loss five hundred', false)).toMatchObject({ outcome: 'accept' });
  });
});
