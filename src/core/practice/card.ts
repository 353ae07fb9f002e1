import type { Entry } from '../entry.ts';
import { codeInfo } from '../vocabulary/code-info.ts';
import { entryLabel } from '../vocabulary/entry-label.ts';
import type { Group, Vocabulary } from '../vocabulary/vocabulary.ts';
import recall from './card-recall.json' with { type: 'json' };
import wordings from './card-wordings.json' with { type: 'json' };

/** What became of synthetic clips of a wording (models/practice): logged rightly, or rightly asked about. */
export interface Recall {
  right: number;
  asked: number;
  of: number;
}

export interface CardWording {
  say: string;
  measured: Recall | null;
}

/** One thing to call out, with the wordings that were heard best, best first. */
export interface CardLine {
  group: Group;
  entry: Entry;
  label: string;
  say: CardWording[];
}

/** What the card offers for each entry, before the measurement chooses among them. */
export const CARD_WORDINGS = wordings as { entry: Entry; say: string[] }[];

const MEASURED = recall.wordings as Record<string, Recall>;
const BEST = 2;

/** Whose voices were measured. */
export const CARD_VOICES: string = recall.voices;

/**
 * The read-aloud card in the order of the vocabulary's groups. Of each entry's wordings the two that were heard
 * best; where two were heard alike, the one that the list names first.
 */
export function cardLines(vocabulary: Vocabulary, measured: Record<string, Recall> = MEASURED): CardLine[] {
  // A question costs an answer, so it counts half.
  const share = (say: string) => {
    const found = measured[say];
    return found ? (found.right + found.asked / 2) / found.of : 0;
  };
  const order = [...vocabulary.codes.keys()];
  return CARD_WORDINGS.map(({ entry, say }) => ({
    group: codeInfo(vocabulary, entry.code).group,
    entry,
    label: entryLabel(entry, vocabulary),
    say: [...say]
      .sort((a, b) => share(b) - share(a))
      .slice(0, BEST)
      .map((words) => ({ say: words, measured: measured[words] ?? null })),
  })).sort((a, b) => order.indexOf(a.entry.code) - order.indexOf(b.entry.code));
}
