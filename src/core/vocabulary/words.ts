import data from './words.json';

type PhaseWords = Record<
  'start' | 'stop' | 'done' | 'failed' | 'succeeded',
  { before: string[]; after: string[] }
>;

/** The words that belong to no code: spellings, fillers, phases, markers of questions and plans. */
export interface Words {
  spellings: ReadonlyMap<string, string[]>;
  joinsByFirst: ReadonlyMap<string, { from: string[]; to: string[] }[]>;
  light: ReadonlySet<string>;
  trade: ReadonlySet<string>;
  /** Trade words that stand for one thing even alone in a sentence. */
  names: ReadonlySet<string>;
  benign: string[];
  phases: PhaseWords;
  question: ReadonlySet<string>;
  tags: string[];
  conditional: string[];
  plan: string[];
  reported: string[];
  /** Another child, another woman, another time: nothing near it is beyond doubt. */
  others: string[];
  negation: ReadonlySet<string>;
  owners: Record<'mother' | 'baby' | 'speaker', string[]>;
  sideNouns: string[];
  /** Said of a manoeuvre that changed nothing, and of anything else. */
  everydayNoEffect: ReadonlySet<string>;
  /** Said to somebody who cries: "no tears" beside one of these is about no perineum. */
  consoling: string[];
  /** Parts of mother and child that stand for themselves. */
  body: ReadonlySet<string>;
}

function joinsByFirst(joins: string[][]): Words['joinsByFirst'] {
  const byFirst = new Map<string, { from: string[]; to: string[] }[]>();
  for (const [said, written] of joins) {
    const from = said!.split(' ');
    byFirst.set(from[0]!, [...(byFirst.get(from[0]!) ?? []), { from, to: written!.split(' ') }]);
  }
  for (const list of byFirst.values()) list.sort((a, b) => b.from.length - a.from.length);
  return byFirst;
}

export const WORDS: Words = {
  spellings: new Map(Object.entries(data.spellings).map(([word, to]) => [word, to.split(' ')])),
  joinsByFirst: joinsByFirst(data.joins),
  light: new Set(data.light),
  trade: new Set(data.trade),
  names: new Set(data.names),
  benign: data.benign,
  phases: data.phases,
  question: new Set(data.question),
  tags: data.tags,
  conditional: data.conditional,
  plan: data.plan,
  reported: data.reported,
  others: data.others,
  negation: new Set(data.negation),
  owners: data.owners,
  sideNouns: data.sideNouns,
  everydayNoEffect: new Set(data.everydayNoEffect),
  consoling: data.consoling,
  body: new Set(data.body),
};
