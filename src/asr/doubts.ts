import type { Doubt } from '../core/interpret/interpretation.ts';
import { rivalsIn } from '../core/interpret/decide/rivals.ts';
import { DECODERS, logitsAt, nothingBefore, type DecodingSizes } from './greedy.ts';
import guards from './guards.json' with { type: 'json' };
import type { Runtime, Session, Tensor } from './runtime.ts';

/** Words and tokens of the model's table. */
export interface Spelling {
  /** The text of one token; a space at its start begins a word. */
  textOf(id: number): string;
  /** The tokens of a word in the middle of a line. */
  tokensOf(word: string): readonly number[];
  /** Tokens that can stand where a line ends: the end itself and closing marks. */
  closing: readonly number[];
}

interface Word {
  word: string;
  /** Places of its tokens. */
  from: number;
  to: number;
}

function wordsOf(ids: readonly number[], spelling: Spelling): Word[] {
  const words: Word[] = [];
  ids.forEach((id, place) => {
    const text = spelling.textOf(id);
    const last = words.at(-1);
    if (last && !text.startsWith(' ')) {
      last.word += text;
      last.to = place + 1;
    } else words.push({ word: text.trim(), from: place, to: place + 1 });
  });
  return words;
}

/** ln of the sum of e^logit over the tokens that may be written. */
function normOf(row: Float32Array, end: number): number {
  let best = -Infinity;
  for (let id = 0; id <= end; id++) if (row[id]! > best) best = row[id]!;
  let sum = 0;
  for (let id = 0; id <= end; id++) sum += Math.exp(row[id]! - best);
  return best + Math.log(sum);
}

const round = (nats: number): number => Math.round(nats * 100) / 100;

/** Natural log-probability of a token at one place. */
type Row = (id: number) => number;

interface Listening {
  runtime: Runtime;
  session: Session;
  sizes: DecodingSizes;
  cross: Record<string, Tensor>;
}

/** Both decoders led along a line of tokens, in one run: for each of them a row for each place, the end's included. */
async function ledAlong(
  { runtime, session, sizes, cross }: Listening,
  ids: readonly number[],
): Promise<Row[][]> {
  const given = [...sizes.prompt, ...ids];
  const out = await session.run(
    {
      ...cross,
      ...nothingBefore(runtime, session, sizes),
      ids: runtime.integers([...given, ...given], [DECODERS, given.length]),
    },
    ['logits'],
  );
  const logits = out['logits']!.data as Float32Array;
  return Array.from({ length: DECODERS }, (_, decoder) =>
    Array.from({ length: ids.length + 1 }, (_, place) => {
      const row = logitsAt(logits, sizes, decoder * given.length + sizes.prompt.length - 1 + place);
      const norm = normOf(row, sizes.end);
      return (id: number): number => row[id]! - norm;
    }),
  );
}

/** Nats of the most probable of these tokens at a place. */
const best = (rows: readonly Row[], place: number, tokens: readonly number[]): number =>
  Math.max(...tokens.map((id) => rows[place]!(id)));

/** Nats of the whole line by each decoder, its end included. */
const wholeNats = (rows: Row[][], ids: readonly number[], closing: readonly number[]): number[] =>
  rows.map((row) => ids.reduce((sum, id, place) => sum + row[place]!(id), best(row, ids.length, closing)));

/**
 * Leads both decoders along the tuned reading and looks at every place for words that would turn the meaning
 * (rivals.ts). Comparing what the untouched decoder writes on its own with the tuned words confuses how it spells
 * ("Add delivered.") with what it hears; led along the same words, it weighs "head" against "hand" in the same sound.
 * A rival counts by the first token in which it differs. That overrates "four" in "fourteen thirty two": one that is
 * near must be so as a whole line, too, and has the greater distance of both.
 * `ids`: the tuned reading's tokens. Only rivals nearer than guards.json says are given.
 */
export async function doubtsAbout(
  runtime: Runtime,
  session: Session,
  sizes: DecodingSizes,
  cross: Record<string, Tensor>,
  ids: readonly number[],
  spelling: Spelling,
): Promise<Doubt[]> {
  const listening = { runtime, session, sizes, cross };
  const rows = await ledAlong(listening, ids);
  const own = wholeNats(rows, ids, spelling.closing);
  /** Longest line that the decoders have positions for. */
  const most = sizes.positions - sizes.prompt.length;
  const words = wordsOf(ids, spelling);
  const doubts: Doubt[] = [];
  for (const { at, kind, words: rivals } of rivalsIn(words.map(({ word }) => word))) {
    const from = words[at]?.from ?? ids.length;
    const to = words[at]?.to ?? ids.length;
    for (const rival of kind === 'dropped' ? [''] : rivals) {
      const spelt = kind === 'dropped' ? [] : spelling.tokensOf(rival);
      const tokens = kind === 'dropped' ? [ids[to] ?? sizes.end] : spelt;
      // Words that begin with the same token part later ("axial", "axilla").
      let place = from;
      if (kind === 'instead') while (place < to && tokens[place - from] === ids[place]) place++;
      const rivalToken = tokens[place - from];
      if (rivalToken === undefined || rivalToken === ids[place]) continue;
      const theirs = kind === 'dropped' && to === ids.length ? spelling.closing : [rivalToken];
      let nats = rows.map((row) => {
        let ours = 0;
        if (kind !== 'added') for (let k = place; k < to; k++) ours += row[k]!(ids[k]!);
        if (kind === 'instead' && place === to)
          ours = best(row, to, ids[to] === undefined ? spelling.closing : [ids[to]]);
        return ours - best(row, place, theirs);
      });
      if (nats.some((near) => near < guards.wholeBelowNats)) {
        const line = ids.toSpliced(from, kind === 'added' ? 0 : to - from, ...spelt);
        if (line.length <= most) {
          const whole = wholeNats(await ledAlong(listening, line), line, spelling.closing);
          nats = nats.map((near, decoder) => Math.max(near, own[decoder]! - whole[decoder]!));
        }
      }
      const [tunedNats, untouchedNats] = nats as [number, number];
      if (Math.min(tunedNats, untouchedNats) < guards.doubtNats[kind])
        doubts.push({
          at,
          kind,
          rival,
          untouchedNats: round(untouchedNats),
          tunedNats: round(tunedNats),
        });
    }
  }
  return doubts;
}
