import { Tensor } from '@xenova/transformers';
import { LogitsProcessor } from '@xenova/transformers/src/utils/generation.js';

/** Tokens that may follow in some phrase, as a tree; `ends`: a phrase may end here. */
export interface PrefixTree {
  next: Map<number, PrefixTree>;
  ends: boolean;
}

/** The prefix tree of phrases given as token ids. */
export function prefixTree(phrases: readonly (readonly number[])[]): PrefixTree {
  const root: PrefixTree = { next: new Map(), ends: false };
  for (const phrase of phrases) {
    let node = root;
    for (const id of phrase) {
      let following = node.next.get(id);
      if (!following) node.next.set(id, (following = { next: new Map(), ends: false }));
      node = following;
    }
    node.ends = true;
  }
  return root;
}

/** Phrases that the tuned reading is to favour, and how much each of their tokens gains. */
export interface Favour {
  phrases: readonly string[];
  nats: number;
}

/**
 * Favours tokens that go on with a phrase of the tree, by `nats`, as long as the reading so far consists of such
 * phrases; one may follow another. Words that no phrase holds end the favour: ordinary talk goes its own way.
 * The app does not use it: it loses fewer call-outs but logs more that nobody called (models/reports/favour.txt).
 */
export class FavourPhrases extends LogitsProcessor {
  constructor(
    readonly root: PrefixTree,
    readonly nats: number,
  ) {
    super();
  }
  override _call(ids: readonly number[], logits: Tensor): Tensor {
    let open: PrefixTree[] = [this.root];
    for (const id of ids) {
      const after = open.flatMap((node) => node.next.get(id) ?? []);
      open = after.some(({ ends }) => ends) ? [...after, this.root] : after;
    }
    const row = logits.data as Float32Array;
    const favoured = new Set(open.flatMap((node) => [...node.next.keys()]));
    for (const id of favoured) row[id]! += this.nats;
    return logits;
  }
}
