import {
  PRACTICE_MARK,
  type Block,
  type Note,
  type NoteLine,
  type Pair,
  type Section,
  type Table,
} from './model.ts';

const WIDTH = 92;

/** The note as plain text, to be read, printed or pasted; lines of at most 92 characters. */
export function noteText(note: Note): string {
  const mark = note.practice ? [`*** ${PRACTICE_MARK} ***`, ''] : [];
  const parts = [
    ...mark,
    note.title.toUpperCase(),
    ...note.sections.flatMap((section) => ['', ...sectionText(section)]),
    '',
    ...note.cautions.flatMap((caution) => wrap(caution, '')),
    ...(note.practice ? ['', `*** ${PRACTICE_MARK} ***`] : []),
  ];
  return `${(note.practice ? parts.map(practiceLine) : parts).join('\n')}\n`;
}

/** Any line of a drill's note that is copied elsewhere still says what it is. */
const practiceLine = (line: string) => (line === '' ? line : `${LINE_MARK}${line}`);
const LINE_MARK = 'PRACTICE| ';

function sectionText({ title, blocks }: Section): string[] {
  return [
    title.toUpperCase(),
    '-'.repeat(title.length),
    ...blocks.flatMap((block, at) =>
      at === 0 ? blockText(block) : [...gapBefore(block), ...blockText(block)],
    ),
  ];
}

const gapBefore = ({ kind }: Block): string[] => (kind === 'table' ? [''] : []);

function blockText(block: Block): string[] {
  switch (block.kind) {
    case 'pairs':
      return block.pairs.flatMap(pairText);
    case 'table':
      return tableText(block.table);
    case 'lines':
      return linesText(block.lines);
    case 'list':
      return block.items.flatMap((item) => wrap(item, '- '));
    case 'text':
      return wrap(block.text, '');
  }
}

function pairText({ label, value, remark }: Pair): string[] {
  return wrap(`${label}: ${value}${remark === undefined ? '' : ` (${remark})`}`, '');
}

/** Few columns stand side by side; a wide table, which cannot be pasted into a record, row by row with names. */
function tableText({ columns, rows }: Table): string[] {
  if (columns.length > 4) return rows.flatMap((row) => namedRow(columns, row));
  const widths = columns
    .slice(0, -1)
    .map((column, at) => Math.max(column.length, ...rows.map((row) => row[at]!.length)));
  return [columns, ...rows].flatMap((row) => {
    const lead = widths.map((width, at) => `${row[at]!.padEnd(width)}  `).join('');
    return wrap(row.at(-1)!, lead, ' '.repeat(lead.length));
  });
}

function namedRow(columns: string[], row: string[]): string[] {
  const rest = row.slice(2).map((cell, index) => `${lowered(columns[index + 2]!)}: ${cell}`);
  return [...wrap(`${row[0]}. ${row[1]}`, ''), ...wrap(rest.join('; '), '    ', '    ')];
}

const lowered = (words: string) => words.replace(/^./, (letter) => letter.toLowerCase());

function linesText(lines: readonly NoteLine[]): string[] {
  const [numbers, times, heads] = [
    Math.max(...lines.map(({ number }) => String(number).length)),
    Math.max(...lines.map(({ time }) => time.length)),
    Math.max(...lines.map(({ fromHead }) => fromHead.length)),
  ];
  return lines.flatMap(({ number, time, fromHead, text, marks }) => {
    const lead = `${String(number).padStart(numbers)}  ${time.padEnd(times)}  ${fromHead.padStart(heads)}  `;
    return wrap(`${text}${marks.length > 0 ? ` [${marks.join('; ')}]` : ''}`, lead, ' '.repeat(lead.length));
  });
}

/** Breaks at spaces; a word that is longer than a line stands alone. `lead` opens the first line. */
function wrap(words: string, lead: string, hang = ' '.repeat(lead.length || 2)): string[] {
  const lines: string[] = [];
  let line = lead;
  let empty = true;
  for (const word of words.split(/\s+/).filter((part) => part !== '')) {
    if (!empty && line.length + 1 + word.length > WIDTH) {
      lines.push(line);
      line = hang;
      empty = true;
    }
    line += empty ? word : ` ${word}`;
    empty = false;
  }
  return [...lines, line];
}
