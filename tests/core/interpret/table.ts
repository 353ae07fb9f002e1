import { readdirSync, readFileSync } from 'node:fs';
import type { Entry } from '../../../src/core/entry.ts';
import type { Vocabulary } from '../../../src/core/vocabulary/vocabulary.ts';

const FOLDER = new URL('./table/', import.meta.url);
const PHASES = new Set(['start', 'stop', 'done', 'failed', 'succeeded']);

export interface Row {
  file: string;
  line: number;
  text: string;
  outcome: string;
  entries: Entry[];
  extras: Record<string, string>;
}

const valueOf = (value: string): unknown => {
  const plain = value.replace(/^'(.*)'$/, '$1');
  if (value.startsWith("'")) return plain;
  if (plain === 'true' || plain === 'false') return plain === 'true';
  return plain;
};

const NUMBERS = new Set([
  'score',
  'minute',
  'ph',
  'baseExcess',
  'pco2',
  'pco2Mmhg',
  'lactate',
  'grams',
  'millilitres',
]);

/** "suprapubic-pressure start left style=rocking" → an entry. */
export function entryOf(notation: string, vocabulary: Vocabulary): Entry {
  const [code, ...parts] = notation.match(/[\w-]+='[^']*'|\S+/g)!;
  const entry: Record<string, unknown> = { code };
  const slots = vocabulary.codes.get(code!)?.slots ?? [];
  for (const part of parts) {
    const equals = part.indexOf('=');
    if (equals > 0) {
      const name = part.slice(0, equals);
      const value = valueOf(part.slice(equals + 1));
      entry[name] = NUMBERS.has(name) ? Number(value) : value;
    } else if (PHASES.has(part)) entry['phase'] = part;
    else if (part === 'unclear') entry['unclear'] = true;
    else entry[slots.includes('side') ? 'side' : 'babySide'] = part;
  }
  return entry as unknown as Entry;
}

/** All rows of the table: text, outcome, entries, and what else must hold. */
export function tableRows(vocabulary: Vocabulary): Row[] {
  return readdirSync(FOLDER)
    .filter((file) => file.endsWith('.tsv') && file !== 'two-readings.tsv')
    .flatMap((file) =>
      readFileSync(new URL(file, FOLDER), 'utf8')
        .split('\n')
        .map((content, index) => ({ file, line: index + 1, content }))
        .filter(({ content }) => content !== '' && !content.startsWith('#'))
        .map(({ line, content }) => {
          const [text = '', outcome = '', entries = '', extras = ''] = content.split('\t');
          return {
            file,
            line,
            text,
            outcome,
            entries:
              entries === '' ? [] : entries.split(' + ').map((notation) => entryOf(notation, vocabulary)),
            extras: Object.fromEntries(
              extras
                .split(' ')
                .filter(Boolean)
                .map((pair) => pair.split('=') as [string, string]),
            ),
          };
        }),
    );
}
