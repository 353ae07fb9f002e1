import { describe, expect, test } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { cheapestAssignment } from '../../../src/core/practice/assign.ts';
import { pairUp, slotDifferences, type Timed } from '../../../src/core/practice/match.ts';

/** Seconds and an entry. */
const at = (seconds: number, entry: Entry): Timed => ({ atMs: seconds * 1000, entry });
const noEffect: Entry = { code: 'no-effect' };
const arrived = (role: string): Entry => ({ code: 'role-arrived', role });
/** [truth, entry] of each pair. */
const pairsOf = (truth: Timed[], entries: Timed[]) =>
  pairUp(truth, entries).pairs.map(({ truth: t, entry: e }) => [t, e]);

describe('cheapest assignment', () => {
  test('worked by hand: 1 + 2 + 2 is the least of the six sums', () => {
    // Sums of the six permutations: 4+0+2, 4+5+2, 1+2+2, 1+5+3, 3+2+2, 3+0+3.
    expect(
      cheapestAssignment([
        [4, 1, 3],
        [2, 0, 5],
        [3, 2, 2],
      ]),
    ).toEqual([1, 0, 2]);
  });

  test('agrees with trying every order, on 200 drawn matrices', () => {
    let seed = 12345;
    const draw = () => (seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648;
    const orders = (list: number[]): number[][] =>
      list.length < 2
        ? [list]
        : list.flatMap((x) => orders(list.filter((y) => y !== x)).map((o) => [x, ...o]));
    for (let round = 0; round < 200; round++) {
      const size = 1 + (round % 5);
      const price = Array.from({ length: size }, () =>
        Array.from({ length: size }, () => Math.floor(draw() * 20)),
      );
      const sum = (order: number[]) => order.reduce((total, column, row) => total + price[row]![column]!, 0);
      const least = Math.min(...orders([...price.keys()]).map(sum));
      expect(sum(cheapestAssignment(price))).toBe(least);
    }
  });
});

describe('pairing truth and record', () => {
  test('the nearer of two like entries, and the other stays unpaired', () => {
    // 60 with 58 costs 2, 60 with 90 costs 30.
    const paired = pairUp([at(60, noEffect)], [at(58, noEffect), at(90, noEffect)]);
    expect(paired).toEqual({ pairs: [{ truth: 0, entry: 0 }], unpairedTruth: [], unpairedEntries: [1] });
  });

  test('a call that was never made does not shift all that follow', () => {
    // Shifted: 72 with 107.5 (35.5) and 107 with 150 (43) = 78.5. Straight: 0.5 and two unpaired at 30 = 60.5.
    const paired = pairUp([at(72, noEffect), at(107, noEffect)], [at(107.5, noEffect), at(150, noEffect)]);
    expect(paired.pairs).toEqual([{ truth: 1, entry: 0 }]);
    expect(paired.unpairedTruth).toEqual([0]);
    expect(paired.unpairedEntries).toEqual([1]);
  });

  test('like entries keep their order where both orders cost the same', () => {
    expect(pairsOf([at(10, noEffect), at(20, noEffect)], [at(30, noEffect), at(40, noEffect)])).toEqual([
      [0, 0],
      [1, 1],
    ]);
  });

  test('roles announced in the other order still find their own', () => {
    // Own: 4 + 1.5 = 5.5. By order: 0.5 + 2 and two wrong roles at 20 each = 42.5.
    expect(
      pairsOf(
        [at(50, arrived('paediatrician')), at(52, arrived('obstetrician'))],
        [at(50.5, arrived('obstetrician')), at(54, arrived('paediatrician'))],
      ),
    ).toEqual([
      [0, 1],
      [1, 0],
    ]);
  });

  test('the only entry of a code pairs with its only event, however late within ten minutes', () => {
    const body: Entry = { code: 'body-delivered' };
    expect(pairsOf([at(80, body)], [at(380, body)])).toEqual([[0, 0]]);
    expect(pairsOf([at(80, body)], [at(700, body)])).toEqual([]);
  });

  test('a wrong side a few seconds off is the same event; far away it is not', () => {
    const left: Entry = { code: 'suprapubic-pressure', phase: 'start', side: 'left' };
    const right: Entry = { ...left, side: 'right' };
    expect(pairsOf([at(34, left)], [at(35, right)])).toEqual([[0, 0]]);
    // 45 + 20 is dearer than two unpaired at 30.
    expect(pairsOf([at(34, left)], [at(79, right)])).toEqual([]);
  });

  test('opposites never pair: on with off, a beginning with a result', () => {
    const pressure = (phase: 'start' | 'stop'): Entry => ({ code: 'suprapubic-pressure', phase });
    const arm = (phase: 'start' | 'done' | 'failed'): Entry => ({ code: 'posterior-arm', phase });
    expect(pairsOf([at(10, pressure('start'))], [at(10, pressure('stop'))])).toEqual([]);
    expect(pairsOf([at(10, pressure('stop'))], [at(10, { code: 'suprapubic-pressure' })])).toEqual([]);
    expect(pairsOf([at(10, arm('start'))], [at(10, arm('done'))])).toEqual([]);
    expect(pairsOf([at(10, arm('start'))], [at(11, { code: 'posterior-arm' })])).toEqual([[0, 0]]);
  });

  test('entries of another code are never paired', () => {
    expect(pairsOf([at(10, { code: 'head-delivered' })], [at(10, { code: 'body-delivered' })])).toEqual([]);
  });
});

describe('slot differences', () => {
  test('only what the truth states counts', () => {
    const truth: Entry = { code: 'suprapubic-pressure', phase: 'start', side: 'left' };
    expect(slotDifferences(truth, { ...truth, style: 'rocking' })).toEqual([]);
    expect(slotDifferences(truth, { code: truth.code })).toEqual([
      { slot: 'side', truth: 'left', recorded: undefined },
    ]);
  });

  test('done and succeeded are one result, failed is the other', () => {
    const arm = (phase: 'done' | 'succeeded' | 'failed'): Entry => ({ code: 'posterior-arm', phase });
    expect(slotDifferences(arm('done'), arm('succeeded'))).toEqual([]);
    expect(slotDifferences(arm('done'), arm('failed'))).toEqual([
      { slot: 'phase', truth: 'done', recorded: 'failed' },
    ]);
  });
});
