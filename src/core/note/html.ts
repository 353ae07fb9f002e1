import { escapeMarkup } from './escape.ts';
import { NOTE_STYLE } from './html-style.ts';
import {
  NOT_RECORDED,
  PRACTICE_MARK,
  type Block,
  type Note,
  type NoteLine,
  type Pair,
  type Section,
  type Table,
} from './model.ts';

/** A value longer than this takes a line of its own where values stand in columns. */
const WIDE = 60;

const e = escapeMarkup;
const element = (name: string, content: string, attributes = '') =>
  `<${name}${attributes}>${content}</${name}>`;

/**
 * The note as one HTML file that needs nothing else: printable, no script, nothing fetched.
 * Every value is escaped. Which record it is, and the mark of a drill, stand on every printed page.
 */
export function noteHtml(note: Note): string {
  const title = e(note.title);
  const mark = note.practice ? element('p', e(PRACTICE_MARK), ' class="mark"') : '';
  const across = note.practice ? element('div', e(PRACTICE_MARK), ' class="across" aria-hidden="true"') : '';
  const sections = runsOf(note.sections)
    .map((run) => runHtml(run, note))
    .join('\n');
  const footer = element('footer', note.cautions.map((caution) => element('p', e(caution))).join(''));
  const main = `<main><h1>${title}</h1>\n${sections}\n${footer}</main>`;
  return [
    '<!doctype html>',
    '<html lang="en-GB">',
    '<head>',
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    `<title>${note.practice ? `${e(PRACTICE_MARK)}: ` : ''}${title}</title>`,
    `<style>${NOTE_STYLE}</style>`,
    '</head>',
    '<body>',
    across,
    `<table class="sheet" role="presentation"><thead><tr><td>${mark}${runningHead(note)}</td></tr></thead><tbody><tr><td>`,
    main,
    '</td></tr></tbody></table>',
    '</body>',
    '</html>',
    '',
  ].join('\n');
}

/** Which record a loose page belongs to. */
function runningHead({ view, file }: Note): string {
  const reference = element('span', `Reference: ${e(view.reference || NOT_RECORDED)}`);
  return element('div', `${reference}${element('span', `Record ${e(file.recordId)}`)}`, ' class="running"');
}

/** Short sections that follow each other run in two columns; all others take the whole width. */
function runsOf(sections: readonly Section[]): Section[][] {
  const runs: Section[][] = [];
  for (const section of sections) {
    const last = runs.at(-1);
    if (section.half && last?.[0]?.half) last.push(section);
    else runs.push([section]);
  }
  return runs;
}

function runHtml(run: readonly Section[], note: Note): string {
  const sections = run.map((section) => sectionHtml(section, note)).join('\n');
  return run[0]?.half ? element('div', sections, ' class="halves"') : sections;
}

function sectionHtml({ id, title, blocks }: Section, note: Note): string {
  const mark = note.practice ? ' \u2013 PRACTICE' : '';
  const heading = element('h2', e(`${title}${mark}`), ` id="${e(id)}-title"`);
  const content = blocks.map(blockHtml).join('\n');
  return element('section', `${heading}\n${content}`, ` class="${e(id)}" aria-labelledby="${e(id)}-title"`);
}

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'pairs':
      return element('dl', block.pairs.map(pairHtml).join(''));
    case 'table':
      return tableHtml(block.table);
    case 'lines':
      return linesHtml(block.lines);
    case 'list':
      return element('ul', block.items.map((item) => element('li', e(item))).join(''));
    case 'text':
      return element('p', e(block.text));
  }
}

function pairHtml({ label, value, remark }: Pair): string {
  const told = remark === undefined ? '' : ` ${element('span', `(${e(remark)})`, ' class="remark"')}`;
  const wide = value.length > WIDE ? ' class="wide"' : '';
  return element('div', `${element('dt', e(label))}${element('dd', `${e(value)}${told}`)}`, wide);
}

function tableHtml({ columns, rows }: Table): string {
  const head = columns.map((column) => element('th', e(column), ' scope="col"')).join('');
  const body = rows
    .map((row) => element('tr', row.map((cell) => element('td', e(cell))).join('')))
    .join('\n');
  return element('table', `<thead><tr>${head}</tr></thead><tbody>${body}</tbody>`, ' class="data"');
}

/** Lines and not a table: on paper they run in two columns. */
function linesHtml(lines: readonly NoteLine[]): string {
  const items = lines.map(({ number, time, fromHead, text, marks }) => {
    const told =
      marks.length === 0 ? '' : ` ${element('span', `[${e(marks.join('; '))}]`, ' class="marks"')}`;
    const cells = [String(number), time, fromHead].map((cell) => element('span', e(cell)));
    return element('li', `${cells.join(' ')} ${element('span', `${e(text)}${told}`)}`);
  });
  return element('ol', items.join('\n'), ' class="log"');
}
