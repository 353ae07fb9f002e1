import { describe, expect, test } from 'vitest';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { CARD_WORDINGS, cardLines } from '../../../src/core/practice/card.ts';
import { slotDifferences } from '../../../src/core/practice/match.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const all = CARD_WORDINGS.flatMap(({ entry, say }) => say.map((words) => [words, entry] as const));

describe('read-aloud card', () => {
  test.each(all)('"%s" is accepted as what the card says it is', (words, entry) => {
    const read = interpret({ tuned: { text: words } }, { asking: false }, vocabulary);
    expect(read.outcome).toBe('accept');
    expect(read.entries).toHaveLength(1);
    expect(read.entries[0]!.code).toBe(entry.code);
    expect(slotDifferences(entry, read.entries[0]!)).toEqual([]);
    // A stop that is read as a bare name would begin what it should end.
    if (entry.phase === 'stop') expect(read.entries[0]!.phase).toBe('stop');
  });

  test('of three wordings the two heard best stand on the card, best first', () => {
    const measured = {
      'head delivered': { right: 3, asked: 2, of: 8 },
      'head out': { right: 8, asked: 0, of: 8 },
      'the head is born': { right: 5, asked: 3, of: 8 },
    };
    const head = cardLines(vocabulary, measured).find((line) => line.entry.code === 'head-delivered')!;
    expect(head.say.map(({ say }) => say)).toEqual(['head out', 'the head is born']);
  });

  test('without a measurement the order of the list stands', () => {
    const head = cardLines(vocabulary, {}).find((line) => line.entry.code === 'head-delivered')!;
    expect(head.say).toEqual([
      { say: 'head delivered', measured: null },
      { say: 'head out', measured: null },
    ]);
  });

  test('groups stand together, in the order of the vocabulary', () => {
    const groups = cardLines(vocabulary).map((line) => line.group);
    expect(groups.filter((group, at) => group !== groups[at - 1])).toEqual([...new Set(groups)]);
  });
});
