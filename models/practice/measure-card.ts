import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { readWav } from '../../src/audio/wav.ts';
import { hearSound } from '../../src/cli/hear-sound.ts';
import { openModels } from '../../src/lab/open-models.ts';
import { interpret } from '../../src/core/interpret/interpret.ts';
import type { Entry } from '../../src/core/entry.ts';
import type { Interpretation } from '../../src/core/interpret/interpretation.ts';
import { CARD_WORDINGS, type Recall } from '../../src/core/practice/card.ts';
import { slotDifferences } from '../../src/core/practice/match.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';

/**
 * npx tsx models/practice/measure-card.ts [accent …]
 *
 * How often each wording of the read-aloud card ends in the right entry by itself: spoken by espeak-ng (a synthesiser
 * that the speech model was never tuned on) in each accent, through segmenter, speech model and interpreter. Writes
 * src/core/practice/card-recall.json after every accent, so that it can be stopped.
 */
const accents = process.argv.slice(2).length > 0 ? process.argv.slice(2) : ['en-gb', 'en-gb-scotland', 'en-us'];
const OUT = join(import.meta.dirname, '../../src/core/practice/card-recall.json');
const PADDING_SECONDS = 0.6;

/** The same words as a synthesiser should read them. */
const spoken = (words: string): string =>
  words
    .replace(/\bmcroberts\b/g, 'McRoberts')
    .replace(/\bp h\b/g, 'P H')
    .replace(/\bl o t\b/g, 'L O T')
    .replace(/\bmils\b/g, 'mills');

function clip(words: string, accent: string) {
  const bytes = execFileSync('espeak-ng', ['--stdout', '-s', '155', '-v', accent, spoken(words)]);
  // Piped WAV has no length in its header; what follows the header is the sound.
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.writeUInt32LE(bytes.length - 44, 40);
  const { sampleRate, samples } = readWav(new Uint8Array(bytes));
  const padding = Math.round(PADDING_SECONDS * sampleRate);
  const padded = new Float32Array(samples.length + 2 * padding);
  padded.set(samples, padding);
  return { sampleRate, samples: padded };
}

/** right: logged as it should be; asked: the same, as a question; other: anything else. */
function outcomeOf(read: Interpretation[], entry: Entry): 'right' | 'asked' | 'other' {
  const [only, ...more] = read;
  const [found, ...others] = only?.entries ?? [];
  if (!only || !found || more.length + others.length > 0) return 'other';
  if (found.code !== entry.code || slotDifferences(entry, found).length > 0) return 'other';
  return only.outcome === 'accept' ? 'right' : only.outcome === 'ask' ? 'asked' : 'other';
}

const vocabulary = loadVocabulary();
const models = await openModels();
const wordings: Record<string, Recall> = {};
for (const [k, accent] of accents.entries()) {
  for (const { entry, say } of CARD_WORDINGS) {
    for (const words of say) {
      const { heard } = await hearSound(models, clip(words, accent));
      const read = heard.map((event) => interpret(event.heard, { asking: false }, vocabulary));
      const outcome = outcomeOf(read, entry);
      const before = wordings[words] ?? { right: 0, asked: 0, of: 0 };
      wordings[words] = {
        right: before.right + Number(outcome === 'right'),
        asked: before.asked + Number(outcome === 'asked'),
        of: before.of + 1,
      };
      if (outcome === 'other')
        console.log(`${accent}: ${words} → ${heard.map((event) => event.heard.tuned.text).join(' / ')}`);
    }
  }
  const voices = `espeak-ng, ${accents.slice(0, k + 1).join(', ')}`;
  writeFileSync(OUT, JSON.stringify({ clipsPerWording: k + 1, voices, wordings }, null, 2) + '\n');
}
const all = Object.values(JSON.parse(readFileSync(OUT, 'utf8')).wordings as Record<string, Recall>);
const sum = (of: keyof Recall) => all.reduce((total, one) => total + one[of], 0);
console.log(`Of ${sum('of')} clips ${sum('right')} were logged rightly, ${sum('asked')} were asked about.`);
