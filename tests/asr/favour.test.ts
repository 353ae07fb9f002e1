import { Tensor } from '@xenova/transformers';
import { expect, it } from 'vitest';
import { FavourPhrases, prefixTree } from '../../src/asr/favour.ts';

const favour = new FavourPhrases(prefixTree([[1, 2], [1, 3, 4], [5]]), 2);
/** Ids that gain after these ids were read. */
const gained = (ids: number[]): number[] => {
  const row = new Float32Array(8);
  favour._call(ids, new Tensor('float32', row, [1, row.length]));
  return [...row.keys()].filter((id) => row[id] === 2);
};

it('favours what may begin a phrase, then what goes on with it', () => {
  expect(gained([])).toEqual([1, 5]);
  expect(gained([1])).toEqual([2, 3]);
  expect(gained([1, 3])).toEqual([4]);
});

it('lets a phrase follow a finished one', () => {
  expect(gained([1, 2])).toEqual([1, 5]);
});

it('leaves talk alone once a word stands in no phrase', () => {
  expect(gained([7])).toEqual([]);
  expect(gained([1, 2, 7, 1])).toEqual([]);
});
