import { escapeMarkup } from '../core/note/escape.ts';
import { chartInWords, chartSvg, chartTable } from './chart-svg.ts';
import type { Block, Chart, Figure, Part, Report, Section } from './report-model.ts';
import { REPORT_STYLE } from './report-style.ts';

const e = escapeMarkup;
/** A longer value needs the whole width of the page. */
const LONG_VALUE = 24;

/**
 * The report as one HTML file that needs nothing else: printable, no script, nothing fetched. The year's figures
 * of the births stand on the first printed page, how each was counted and the tables on those after it.
 */
export function reportHtml(report: Report): string {
  const [births] = report.parts;
  return [
    '<!doctype html>',
    '<html lang="en-GB">',
    '<head>',
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    `<title>${e(report.title)}</title>`,
    `<style>${REPORT_STYLE}</style>`,
    '</head>',
    '<body>',
    '<main>',
    `<h1>${e(report.title)}</h1>`,
    list(report.facts, 'facts'),
    births === undefined ? '' : firstPage(births),
    `<h3>What this report is not</h3>`,
    list(report.cautions, 'cautions'),
    ...report.parts.map(partHtml),
    '</main>',
    '</body>',
    '</html>',
    '',
  ].join('\n');
}

const list = (items: readonly string[], name: string): string =>
  `<ul class="${name}">${items.map((item) => `<li>${e(item)}</li>`).join('')}</ul>`;

/** The figures of a part, and its first chart. */
function firstPage(part: Part): string {
  const chart = firstChart(part);
  return [
    `<h2>${e(part.title)}: the figures on one page</h2>`,
    part.figures.length === 0
      ? part.sections.map(({ records }) => `<p>${e(records)}</p>`).join('')
      : figuresHtml(part.figures),
    chart === null
      ? ''
      : `<h4>Head to body: ${e(chart.title.toLowerCase())}</h4>${chartSvg(chart)}${readingHtml(chart)}`,
  ].join('\n');
}

function firstChart({ sections }: Part): Chart | null {
  for (const { blocks } of sections)
    for (const block of blocks) if (block.kind === 'chart') return block.chart;
  return null;
}

function figuresHtml(figures: readonly Figure[]): string {
  const items = figures.map(
    ({ label, value, counted }) =>
      `<div${value.length > LONG_VALUE ? ' class="wide"' : ''}><dt>${e(label)}</dt><dd class="value">${e(value)}</dd><dd class="counted">${e(counted)}</dd></div>`,
  );
  return `<dl class="figures">${items.join('')}</dl>`;
}

function partHtml(part: Part): string {
  const mark = part.id === 'drills' ? '<p class="mark">DRILLS: no births among them</p>' : '';
  const figures = part.id === 'drills' && part.figures.length > 0 ? figuresHtml(part.figures) : '';
  return `<section class="new-page"><h2>${e(part.title)}</h2>${mark}${figures}${part.sections.map((section) => sectionHtml(section, part)).join('\n')}</section>`;
}

function sectionHtml({ id, title, records, definition, blocks }: Section, part: Part): string {
  return [
    `<section id="${e(id)}" aria-labelledby="${e(id)}-title">`,
    `<h3 id="${e(id)}-title">${e(title)}</h3>`,
    `<p class="records">${e(records)}</p>`,
    definition === '' ? '' : `<p class="definition">How it was counted. ${e(definition)}</p>`,
    ...blocks.map((block) => blockHtml(block, part)),
    '</section>',
  ].join('\n');
}

function blockHtml(block: Block, part: Part): string {
  switch (block.kind) {
    case 'text':
      return `<p>${e(block.text)}</p>`;
    case 'table':
      return tableHtml(block.caption, block.columns, block.rows);
    case 'chart': {
      const { columns, rows } = chartTable(block.chart, part.title);
      const numbers = block.chart.numbersAbove ? '' : tableHtml('Its numbers', columns, rows);
      return `<h4>${e(block.chart.title)}</h4>${chartSvg(block.chart)}${readingHtml(block.chart)}${numbers}`;
    }
  }
}

const readingHtml = (chart: Chart): string =>
  chart.reading.map((sentence) => `<p class="reading">${e(sentence)}</p>`).join('');

function tableHtml(caption: string, columns: readonly string[], rows: readonly string[][]): string {
  const head = columns.map((column) => `<th scope="col">${e(column)}</th>`).join('');
  const body = rows.map((row) => `<tr>${row.map((cell) => `<td>${e(cell)}</td>`).join('')}</tr>`);
  if (rows.length === 0) return `<p>${e(caption)}: nothing that may be shown.</p>`;
  return `<table><caption>${e(caption)}</caption><thead><tr>${head}</tr></thead><tbody>${body.join('\n')}</tbody></table>`;
}

/** The report's tables as rows for one CSV file: part, section, table, row, column, value. */
export function reportCells(report: Report): string[][] {
  const cells: string[][] = [['part', 'section', 'table', 'row', 'column', 'value']];
  for (const part of report.parts) {
    for (const { label, value, counted } of part.figures) {
      cells.push(
        [part.title, 'Figures', '', label, 'value', value],
        [part.title, 'Figures', '', label, 'counted', counted],
      );
    }
    for (const section of part.sections) {
      for (const block of section.blocks) {
        if (block.kind === 'text') cells.push([part.title, section.title, '', '', 'text', block.text]);
        else {
          const table =
            block.kind === 'table'
              ? block
              : { caption: block.chart.title, ...chartTable(block.chart, part.title) };
          for (const row of table.rows)
            table.columns.forEach((column, at) => {
              if (at > 0) cells.push([part.title, section.title, table.caption, row[0]!, column, row[at]!]);
            });
          if (block.kind === 'chart')
            cells.push([
              part.title,
              section.title,
              block.chart.title,
              '',
              'in words',
              chartInWords(block.chart),
            ]);
        }
      }
    }
  }
  return cells;
}
