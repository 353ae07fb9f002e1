import { expect, it } from 'vitest';
import { doubtsAbout, type Spelling } from '../../src/asr/doubts.ts';
import type { DecodingSizes } from '../../src/asr/greedy.ts';
import type { Runtime, Session, Tensor } from '../../src/asr/runtime.ts';

const TABLE = [
  ' head',
  ' hand',
  ' out',
  ' in',
  ' no',
  ' one',
  ' ax',
  'ial',
  'illa',
  'ing',
  '.',
  '<end>',
  '<prompt>',
];
const at = (text: string): number => TABLE.indexOf(text);
const sizes: DecodingSizes = {
  end: at('<end>'),
  prompt: [at('<prompt>')],
  tokens: TABLE.length,
  heads: 1,
  headSize: 1,
  positions: 80,
};
const spelling: Spelling = {
  textOf: (id) => TABLE[id]!,
  tokensOf: (word) =>
    word === 'axilla' ? [at(' ax'), at('illa')] : TABLE.includes(` ${word}`) ? [at(` ${word}`)] : [],
  closing: [at('<end>'), at('.')],
};
const runtime: Runtime = {
  open: () => Promise.reject(new Error('not used')),
  floats: (data, dims) => ({ data, dims }),
  integers: (values, dims) => ({ data: BigInt64Array.from(values, BigInt), dims }),
};

type Places = Record<string, number>[];

/**
 * A decoding graph whose decoders give every token −9, but for those named, at each place after the prompt. `along`:
 * what the untouched decoder gives instead where it is led along these lines.
 */
function session(tuned: Places, untouched: Places, along: Record<string, Places> = {}): Session {
  return {
    inputNames: ['ids', 'past.0.0.key'],
    outputNames: ['logits'],
    release: async () => {},
    async run(feeds): Promise<Record<string, Tensor>> {
      const [decoders, length] = feeds['ids']!.dims as [number, number];
      const data = new Float32Array(decoders * length * TABLE.length).fill(-9);
      const given = [...(feeds['ids']!.data as BigInt64Array)].slice(1, length);
      const line = given.map((id) => TABLE[Number(id)]).join('');
      [tuned, along[line] ?? untouched].forEach((places, decoder) =>
        places.slice(0, length).forEach((place, k) => {
          for (const [text, logit] of Object.entries(place))
            data[(decoder * length + k) * TABLE.length + at(text)] = logit;
        }),
      );
      return { logits: { data, dims: [decoders, length, TABLE.length] } };
    },
  };
}
const ids = [at(' head'), at(' out')];
const sure: Places = [{ ' head': 0 }, { ' out': 0 }, { '<end>': 0 }];

it('finds no doubt where both decoders are sure of every word', async () => {
  expect(await doubtsAbout(runtime, session(sure, sure), sizes, {}, ids, spelling)).toEqual([]);
});

it('finds the rival that the untouched decoder prefers in the same place, and by how much', async () => {
  const other: Places = [{ ' head': -2, ' hand': 0 }, { ' out': 0 }, { '<end>': 0 }];
  const doubts = await doubtsAbout(runtime, session(sure, other), sizes, {}, ids, spelling);
  expect(doubts).toHaveLength(1);
  expect(doubts[0]).toMatchObject({ at: 0, kind: 'instead', rival: 'hand' });
  expect(doubts[0]!.untouchedNats).toBeCloseTo(-2, 1);
  expect(doubts[0]!.tunedNats).toBeCloseTo(9, 1);
});

it('finds a negation that could stand before a word, by its own probability', async () => {
  const other: Places = [{ ' no': 0, ' head': 0 }, { ' out': 0 }, { '<end>': 0 }];
  const along: Record<string, Places> = { ' no head out': [{ ' no': 0, ' head': 0 }, ...sure] };
  const doubts = await doubtsAbout(runtime, session(sure, other, along), sizes, {}, ids, spelling);
  expect(doubts).toHaveLength(1);
  expect(doubts[0]).toMatchObject({ at: 0, kind: 'added', rival: 'no' });
  expect(doubts[0]!.untouchedNats).toBeCloseTo(Math.log(2), 1);
});

it('finds a digit that could be said once more at the end', async () => {
  const digits: Places = [{ ' one': 0 }, { '<end>': 0, ' one': -0.5 }];
  const doubts = await doubtsAbout(runtime, session(digits, digits), sizes, {}, [at(' one')], spelling);
  expect(doubts.map(({ at: place, kind, rival }) => [place, kind, rival])).toEqual([[1, 'added', 'one']]);
});

it('counts tokens that begin no word to the word before', async () => {
  const places: Places = [{ ' head': 0 }, { ing: 0 }, { ' out': 0, ' in': -1 }, { '<end>': 0 }];
  const doubts = await doubtsAbout(
    runtime,
    session(places, places),
    sizes,
    {},
    [at(' head'), at('ing'), at(' out')],
    spelling,
  );
  expect(doubts.map(({ at: place, rival }) => [place, rival])).toEqual([[1, 'in']]);
});

it('weighs words that begin with the same token where they part', async () => {
  const places: Places = [{ ' ax': 0 }, { ial: 0, illa: -0.5 }, { '<end>': 0 }];
  const doubts = await doubtsAbout(
    runtime,
    session(places, places),
    sizes,
    {},
    [at(' ax'), at('ial')],
    spelling,
  );
  expect(doubts).toHaveLength(1);
  expect(doubts[0]).toMatchObject({ at: 0, kind: 'instead', rival: 'axilla', untouchedNats: 0.5 });
});

it('finds a word that habit put there: what follows could stand in its place', async () => {
  const other: Places = [{ ' head': 0 }, { ' out': -2, '.': 0 }, { '<end>': 0 }];
  const along: Record<string, Places> = { ' head': [{ ' head': 0 }, { '.': 0 }] };
  const doubts = await doubtsAbout(runtime, session(sure, other, along), sizes, {}, ids, spelling);
  expect(doubts).toHaveLength(1);
  expect(doubts[0]).toMatchObject({ at: 1, kind: 'dropped', rival: '' });
  expect(doubts[0]!.untouchedNats).toBeCloseTo(-2, 1);
});

it('takes no rival for near that is so by its first token alone: the rest of the line speaks against it', async () => {
  const other: Places = [{ ' head': -2, ' hand': 0 }, { ' out': 0 }, { '<end>': 0 }];
  const along: Record<string, Places> = { ' hand out': [{ ' hand': 0 }, { ' in': 0 }, { '<end>': 0 }] };
  const doubts = await doubtsAbout(runtime, session(sure, other, along), sizes, {}, ids, spelling);
  expect(doubts).toEqual([]);
});

it('weighs the whole line only where it fits the positions that the decoders have', async () => {
  const other: Places = [{ ' no': 0, ' head': 0 }, { ' out': 0 }, { '<end>': 0 }];
  const narrow = { ...sizes, positions: 3 };
  const doubts = await doubtsAbout(runtime, session(sure, other), narrow, {}, ids, spelling);
  expect(doubts).toMatchObject([{ kind: 'added', rival: 'no' }]);
});
