/** Reading back what read-sets.ts wrote, and what the interpreter makes of it. */
import { readFileSync } from 'node:fs';
import type { Entry } from '../../src/core/entry.ts';
import type { Heard } from '../../src/core/interpret/interpretation.ts';
import { interpretListened } from '../../src/core/interpret/decide/listen-again.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import type { Trial } from '../../src/cli/score.ts';

export interface ReadingLine {
  model: string;
  set: string;
  kind: string;
  snr: number | null;
  name: string;
  said: string;
  /** null where nobody stated what must be logged: such clips count for words alone. */
  expected: Entry[] | null;
  heard: Heard;
  /** Listenings at other speeds where the first was unsure; absent in readings from before there were any. */
  again?: Heard[];
  audioMs: number;
}

const vocabulary = loadVocabulary();

export function readLines(files: readonly string[]): ReadingLine[] {
  return files.flatMap((file) =>
    readFileSync(file, 'utf8')
      .split('\n')
      .filter((line) => line.endsWith('}'))
      .map((line) => JSON.parse(line) as ReadingLine),
  );
}

/**
 * How the interpreter is to take a clip: both readings, and those of listening again, as the app does; both
 * compared as texts, without the doubts; the tuned one alone; or the very words that were said.
 */
export type Way = 'two readings' | 'as texts' | 'tuned alone' | 'exact words';

function heardAs(line: ReadingLine, way: Way): Heard {
  if (way === 'exact words') return { tuned: { text: line.said } };
  if (way === 'two readings') return line.heard;
  const { tuned, untouched, speechMs } = line.heard;
  return {
    tuned,
    ...(way === 'as texts' && untouched ? { untouched } : {}),
    ...(speechMs === undefined ? {} : { speechMs }),
  };
}

/** One clip as a trial to score. What is only asked about is no entry. */
export function trialOf(line: ReadingLine, way: Way): Trial {
  const again = (way === 'two readings' && line.again) || [];
  const { meaning } = interpretListened(heardAs(line, way), again, { asking: false }, vocabulary);
  const took = (entries: readonly Entry[]) => entries.map((entry) => ({ entry }));
  return {
    name: line.name,
    audioMs: line.audioMs,
    expected: took(line.expected ?? []),
    accepted: meaning.outcome === 'accept' ? took(meaning.entries) : [],
    asked: meaning.outcome === 'ask' ? [...meaning.entries] : [],
  };
}

/** Edits between the words that were said and those written, and how many were said. */
export function wordErrors(line: ReadingLine): { wrong: number; said: number } {
  const said = line.said.split(' ').filter(Boolean);
  const heard = line.heard.tuned.text.toLowerCase().replace(/[^a-z' ]+/g, ' ').split(' ').filter(Boolean);
  let row = heard.map((_, j) => j + 1);
  row.unshift(0);
  said.forEach((word, i) => {
    const next = [i + 1];
    heard.forEach((other, j) => {
      next.push(Math.min(row[j + 1]! + 1, next[j]! + 1, row[j]! + (word === other ? 0 : 1)));
    });
    row = next;
  });
  return { wrong: row.at(-1)!, said: said.length };
}
