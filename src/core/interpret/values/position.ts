import type { FetalPosition } from '../../entry.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';

const POSITIONS: Record<string, FetalPosition> = {
  loa: 'LOA',
  roa: 'ROA',
  'lot#': 'LOT',
  'rot#': 'ROT',
  'lop#': 'LOP',
  rop: 'ROP',
  oa: 'OA',
  'op#': 'OP',
};
/** Joined from an everyday word, a position only where the utterance speaks of nothing else. */
const EVERYDAY: Record<string, FetalPosition> = { lot: 'LOT', rot: 'ROT', lop: 'LOP', op: 'OP' };
const AROUND =
  /^(position|is|the|baby|head|in|it's|we|have|fetal|'s|direct|directly|a|now|at|lying|lies|so|okay|presentation|vertex|that's|was|this|birth|delivered)$/;

/** The position of the head: "l o t", "left occipito transverse", "direct o p", "position is LOA". */
export function positionAt(tokens: readonly Token[], at: number): Measured | undefined {
  let to = at;
  let lead = false;
  if (/^(position|direct|directly|fetal|presentation|vertex|baby)$/.test(tokens[to]!.word)) {
    lead = true;
    while (
      to < tokens.length &&
      /^(position|is|the|baby|direct|directly|fetal|presentation|vertex|'s|it's|was|now)$/.test(
        tokens[to]!.word,
      )
    )
      to += 1;
  }
  const word = tokens[to]?.word;
  if (word === undefined) return undefined;
  const sided = sidedPosition(tokens, to);
  if (sided) return { from: at, ...sided, to: positionWordAfter(tokens, sided.to) };
  const position =
    POSITIONS[word] ?? (EVERYDAY[word] && (lead || onlyPosition(tokens, to)) ? EVERYDAY[word] : undefined);
  if (!position) return undefined;
  return { from: at, to: positionWordAfter(tokens, to + 1), entries: [{ code: 'fetal-position', position }] };
}

const positionWordAfter = (tokens: readonly Token[], at: number): number =>
  /^(position|baby)$/.test(tokens[at]?.word ?? '') ? at + 1 : at;

/** "left o a", "right o p", "occiput left": the last says no front or back, and asks. */
function sidedPosition(
  tokens: readonly Token[],
  at: number,
): Pick<Measured, 'to' | 'entries' | 'problem' | 'alternatives'> | undefined {
  const side = tokens[at]?.word;
  const end = POSITIONS[tokens[at + 1]?.word ?? ''];
  if ((side === 'left' || side === 'right') && (end === 'OA' || end === 'OP')) {
    return {
      to: at + 2,
      entries: [
        { code: 'fetal-position', position: `${side === 'left' ? 'L' : 'R'}${end}` as FetalPosition },
      ],
    };
  }
  const occiput = side === 'occiput' || side === 'occipito';
  let next = at + 1;
  while (occiput && /^(is|on|to|the|'s|mum|maternal)$/.test(tokens[next]?.word ?? '')) next += 1;
  const to = tokens[next]?.word;
  if (!occiput || (to !== 'left' && to !== 'right')) return undefined;
  const letter = to === 'left' ? 'L' : 'R';
  const [best, ...others] = (['OT', 'OA', 'OP'] as const).map((rest) => `${letter}${rest}` as FetalPosition);
  return {
    to: next + 1,
    entries: [{ code: 'fetal-position', position: best! }],
    problem: 'unclear',
    alternatives: others.map((position) => [{ code: 'fetal-position', position }]),
  };
}

function onlyPosition(tokens: readonly Token[], at: number): boolean {
  if (tokens[at - 1]?.word === 'a') return false;
  return tokens.every((token, index) => index === at || AROUND.test(token.word));
}
