import { escapeMarkup } from '../core/note/escape.ts';
import type { Chart, ChartPoint } from './report-model.ts';
import { clock, WITHHELD } from './words.ts';

const WIDTH = 960;
const HEIGHT = 250;
const [LEFT, RIGHT, TOP, BOTTOM] = [64, WIDTH - 24, 26, 196];
/** More labels under the plot would run into each other. */
const MOST_LABELS = 10;

const told = (chart: Chart, value: number): string =>
  chart.unit === 'seconds' ? clock(value) : `${Math.round(value)} %`;

/** The chart in words, for those who do not see it; its numbers stand in the table beside it. */
export function chartInWords(chart: Chart): string {
  const [first, last] = [chart.points[0], chart.points.at(-1)];
  if (first === undefined || last === undefined) return `${chart.title}: no points.`;
  const span =
    first === last
      ? ''
      : `, from ${told(chart, first.value)} (${first.label}) to ${told(chart, last.value)} (${last.label})`;
  const centre = chart.centre === null ? '' : `; ${chart.centre.label} ${told(chart, chart.centre.value)}`;
  return `${chart.title}: ${chart.points.length} ${chart.points.length === 1 ? 'point' : 'points'}${span}${centre}. ${chart.reading.join(' ')}`;
}

/** The points as a table. */
export function chartTable(chart: Chart, many: string): { columns: string[]; rows: string[][] } {
  const quartered = chart.points.some(({ q1 }) => q1 !== undefined);
  const { limits } = chart;
  return {
    columns: [
      'Months',
      `${many}`,
      'Value',
      ...(quartered ? ['Quartiles'] : []),
      ...(limits ? ['Limits'] : []),
    ],
    rows: chart.points.map((point) => [
      point.label,
      String(point.records),
      told(chart, point.value),
      ...(quartered
        ? [point.q1 === undefined ? WITHHELD : `${told(chart, point.q1)} to ${told(chart, point.q3!)}`]
        : []),
      ...(limits ? [point.outside ? 'outside' : 'within'] : []),
    ]),
  };
}

/**
 * One plot as SVG, of shapes and grey alone: circles for points, a square for one outside the limits, a line for
 * the centre, dashes for limits, a bar for the quartiles, a double line for the named date. Every text is escaped.
 * No style attribute, so that a strict policy lets it pass; colours come from the page's style sheet by class.
 */
export function chartSvg(chart: Chart): string {
  const { points, centre, limits } = chart;
  const highest = Math.max(
    chart.unit === 'percent' ? 100 : 60,
    ...points.map(({ value, q3 }) => q3 ?? value),
    limits?.high ?? 0,
  );
  const top = chart.unit === 'percent' ? 100 : niceTop(highest);
  const y = (value: number) => BOTTOM - (Math.max(0, Math.min(value, top)) / top) * (BOTTOM - TOP);
  const x = (at: number) =>
    points.length === 1 ? (LEFT + RIGHT) / 2 : LEFT + 24 + (at / (points.length - 1)) * (RIGHT - LEFT - 48);
  const every = Math.ceil(points.length / MOST_LABELS);
  const parts: string[] = [];
  for (const share of [0, 0.25, 0.5, 0.75, 1]) {
    const at = y(share * top);
    parts.push(line('grid', LEFT, at, RIGHT, at), text(LEFT - 8, at + 4, told(chart, share * top), 'end'));
  }
  if (limits !== null) {
    for (const limit of [limits.high, ...(limits.low > 0 ? [limits.low] : [])])
      parts.push(line('limit', LEFT, y(limit), RIGHT, y(limit)));
    parts.push(text(RIGHT, y(limits.high) - 5, `limit ${told(chart, limits.high)}`, 'end'));
    if (limits.low > 0)
      parts.push(text(RIGHT, y(limits.low) + 14, `limit ${told(chart, limits.low)}`, 'end'));
  }
  if (centre !== null) {
    parts.push(line('centre', LEFT, y(centre.value), RIGHT, y(centre.value)));
    parts.push(text(LEFT + 2, TOP - 10, `${centre.label} ${told(chart, centre.value)}`, 'start'));
  }
  if (chart.changeAt !== null) {
    const at = chart.changeAt === 0 ? LEFT + 8 : (x(chart.changeAt - 1) + x(chart.changeAt)) / 2;
    parts.push(
      line('change', at - 2, TOP - 4, at - 2, BOTTOM),
      line('change', at + 2, TOP - 4, at + 2, BOTTOM),
    );
    parts.push(text(at, TOP - 10, 'named date', 'middle'));
  }
  points.forEach((point, at) => {
    if (point.q1 !== undefined && limits === null)
      parts.push(line('spread', x(at), y(point.q1), x(at), y(point.q3!)));
  });
  parts.push(
    `<polyline class="trace" points="${points.map(({ value }, at) => `${round(x(at))},${round(y(value))}`).join(' ')}"/>`,
  );
  points.forEach((point, at) => {
    parts.push(mark(point, x(at), y(point.value)));
    if (at % every === 0 || (at === points.length - 1 && every === 1))
      parts.push(
        text(x(at), BOTTOM + 18, point.label.slice(0, 7), 'middle'),
        text(x(at), BOTTOM + 34, String(point.records), 'middle', 'small'),
      );
  });
  parts.push(text(LEFT - 8, BOTTOM + 34, 'records', 'end', 'small'));
  const words = escapeMarkup(chartInWords(chart));
  return `<svg class="chart" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${words}" xmlns="http://www.w3.org/2000/svg">${parts.join('')}</svg>`;
}

const round = (value: number): number => Math.round(value * 10) / 10;
const line = (name: string, x1: number, y1: number, x2: number, y2: number): string =>
  `<line class="${name}" x1="${round(x1)}" y1="${round(y1)}" x2="${round(x2)}" y2="${round(y2)}"/>`;
const text = (
  x: number,
  y: number,
  words: string,
  anchor: 'start' | 'middle' | 'end',
  name = 'label',
): string =>
  `<text class="${name}" x="${round(x)}" y="${round(y)}" text-anchor="${anchor}">${escapeMarkup(words)}</text>`;
const mark = ({ outside }: ChartPoint, x: number, y: number): string =>
  outside
    ? `<rect class="outside" x="${round(x - 7)}" y="${round(y - 7)}" width="14" height="14"/>`
    : `<circle class="point" cx="${round(x)}" cy="${round(y)}" r="5"/>`;

/** A whole number of minutes, or of half minutes below four, at or above the highest value. */
function niceTop(seconds: number): number {
  const step = seconds > 240 ? 120 : 60;
  return Math.ceil(seconds / step) * step;
}
