import { readdirSync, readFileSync } from 'node:fs';
import type { Entry } from '../../../src/core/entry.ts';
import type { Vocabulary } from '../../../src/core/vocabulary/vocabulary.ts';
import known from './known-failures.json';

const FOLDER = new URL('./table/', import.meta.url);
const PHASES = new Set(['start', 'stop', 'done', 'failed', 'succeeded']);

export interface Row {
  file: string;
  line: number;
  text: string;
  untouched?: string;
  outcome: string;
  entries: Entry[];
  extras: Record<string, string>;
}

const valueOf = (value: string): unknown => {
  const plain = value.replace(/^(['"])(.*)\1$/, '$2');
  if (/^['"]/.test(value)) return plain;
  if (plain === 'true' || plain === 'false') return plain === 'true';
  return plain;
};

/** Slots that stay words even where they look like numbers. */
const WORDS = new Set(['grade', 'dose', 'text', 'spoken']);

/** "suprapubic-pressure start left style=rocking" → an entry. */
export function entryOf(notation: string, vocabulary: Vocabulary): Entry {
  const [code, ...parts] = notation.match(/[\w-]+=(?:'[^']*'|"[^"]*")|\S+/g)!;
  const entry: Record<string, unknown> = { code };
  const slots = vocabulary.codes.get(code!)?.slots ?? [];
  for (const part of parts) {
    const equals = part.indexOf('=');
    if (equals > 0) {
      const name = part.slice(0, equals);
      const value = valueOf(part.slice(equals + 1));
      entry[name] = /^-?[\d.]+$/.test(String(value)) && !WORDS.has(name) ? Number(value) : value;
    } else if (PHASES.has(part)) entry['phase'] = part;
    else if (part === 'unclear') entry['unclear'] = true;
    else entry[slots.includes('side') ? 'side' : 'babySide'] = part;
  }
  return entry as unknown as Entry;
}

function rowsOf(file: string, vocabulary: Vocabulary, two: boolean): Row[] {
  return readFileSync(new URL(file, FOLDER), 'utf8')
    .split('\n')
    .map((content, index) => ({ line: index + 1, content }))
    .filter(({ content }) => content !== '' && !content.startsWith('#'))
    .map(({ line, content }) => {
      const cells = content.split('\t');
      const [text = ''] = cells;
      const [outcome = '', entries = '', extras = ''] = cells.slice(two ? 2 : 1);
      return {
        file,
        line,
        text,
        ...(two ? { untouched: cells[1] ?? '' } : {}),
        outcome,
        entries: entries === '' ? [] : entries.split(' + ').map((notation) => entryOf(notation, vocabulary)),
        extras: Object.fromEntries(
          extras
            .split(' ')
            .filter(Boolean)
            .map((pair) => pair.split('=') as [string, string]),
        ),
      };
    });
}

const TWO = 'two-readings.tsv';

/** All rows of the table: text, outcome, entries, and what else must hold. */
export const tableRows = (vocabulary: Vocabulary): Row[] =>
  readdirSync(FOLDER)
    .filter((file) => file.endsWith('.tsv') && file !== TWO)
    .flatMap((file) => rowsOf(file, vocabulary, false));

/** Rows with two readings of one sound. */
export const twoReadingRows = (vocabulary: Vocabulary): Row[] => rowsOf(TWO, vocabulary, true);

/** A row that is read wrongly today and counted as such. */
export const isKnownFailure = ({ text }: Row): boolean => (known.table as string[]).includes(text);
