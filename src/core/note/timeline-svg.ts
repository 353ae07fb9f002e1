import { logged, minutesSeconds, secondOf, secondsBetween } from '../facts/logged.ts';
import { aroundBirth } from '../log/time-bounds.ts';
import { escapeMarkup } from './escape.ts';
import { PRACTICE_MARK } from './model.ts';
import { beginOf, endOf, timelineItems, type TimelineItem, type TimelineParts } from './timeline-items.ts';
import { headMs, timeText } from './times.ts';

const WIDTH = 900;
const CHART = { left: 345, right: 885 };
const ROW = 22;
const TOP = 46;
/** Steps of the axis in seconds, of which the smallest with at most nine marks is taken. */
const STEPS = [5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600, 7200, 14400, 21600];

/** What the picture shows, in words: its text alternative. */
export function timelineWords(parts: TimelineParts): string[] {
  const items = timelineItems(parts);
  return items.length === 0 ? ['No times to show.'] : items.map(({ label, told }) => `${label}: ${told}`);
}

/**
 * The timeline as an SVG picture: manoeuvres as bars, landmarks as diamonds, calls and arrivals as
 * triangles, intervals as spans. Readable in grey and without style sheets; has a text alternative.
 */
export function timelineSvg(parts: TimelineParts): string {
  const items = timelineItems(parts);
  const practice = parts.view.mode === 'practice';
  const height = TOP + Math.max(1, items.length) * ROW + 34;
  const body =
    items.length === 0 ? text(CHART.left, TOP + 15, 'No times to show.') : drawing(items, parts, height);
  const title = practice ? `Timeline. ${PRACTICE_MARK}` : 'Timeline of the birth';
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" role="img" aria-labelledby="timeline-title timeline-words" font-family="sans-serif" font-size="12" fill="#111">`,
    `<title id="timeline-title">${escapeMarkup(title)}</title>`,
    `<desc id="timeline-words">${escapeMarkup(timelineWords(parts).join('. '))}</desc>`,
    `<rect width="${WIDTH}" height="${height}" fill="#fff"/>`,
    practice
      ? `<text x="${WIDTH / 2}" y="14" text-anchor="middle" font-weight="bold">${escapeMarkup(PRACTICE_MARK)}</text>`
      : '',
    body,
    '</svg>',
  ].join('');
}

interface Scale {
  x: (atMs: number) => number;
  fromMs: number;
  toMs: number;
}

function scaleOf(items: readonly TimelineItem[]): Scale {
  const first = Math.min(...items.map(beginOf));
  const last = Math.max(...items.map(endOf));
  const room = Math.max(5000, (last - first) * 0.04);
  const [fromMs, toMs] = [first - room, last + room];
  const x = (atMs: number) => CHART.left + ((atMs - fromMs) / (toMs - fromMs)) * (CHART.right - CHART.left);
  return { x, fromMs, toMs };
}

const round = (value: number) => Math.round(value * 10) / 10;
const text = (x: number, y: number, words: string, more = '') =>
  `<text x="${round(x)}" y="${round(y)}"${more}>${escapeMarkup(words)}</text>`;

function drawing(items: readonly TimelineItem[], parts: TimelineParts, height: number): string {
  const scale = scaleOf(items);
  const rows = items.map((item, index) => rowOf(item, TOP + index * ROW, scale, index));
  return [axis(scale, parts, height), notDrawn(parts, height), ...births(items, scale, height), ...rows].join(
    '',
  );
}

/** How many entries lie too far from the birth to be drawn; nothing is left out without a word. */
function notDrawn({ view }: TimelineParts, height: number): string {
  const far = logged(view).filter(({ atMs }) => !aroundBirth(view, atMs)).length;
  const words = `${far} of another day not drawn: see the log`;
  return far === 0 ? '' : text(8, height - 10, words, ' font-size="11"');
}

/** Vertical lines through the whole picture where the head and the body were born. */
function births(items: readonly TimelineItem[], { x }: Scale, height: number): string[] {
  const span = items.find((item) => item.kind === 'interval' && item.label === 'Head to body');
  if (span?.kind !== 'interval') return [];
  return [span.fromMs, span.toMs].map(
    (atMs) => `<path d="M${round(x(atMs))} ${TOP - 6}V${height - 28}" stroke="#111" stroke-width="1.2"/>`,
  );
}

function axis({ x, fromMs, toMs }: Scale, { view }: TimelineParts, height: number): string {
  const head = headMs(view);
  const step = (STEPS.find((seconds) => (toMs - fromMs) / 1000 / seconds <= 9) ?? STEPS.at(-1)!) * 1000;
  // Without a head the marks stand on whole steps of the clock.
  const zero = head ?? fromMs - ((secondOf(view, fromMs) * 1000) % step);
  const ticks: string[] = [];
  for (
    let at = zero + Math.ceil((fromMs - zero) / step) * step;
    at <= toMs && x(at) < CHART.right - 12;
    at += step
  ) {
    const words = head === null ? timeText(view, at) : minutesSeconds(secondsBetween(view, head, at));
    ticks.push(`<path d="M${round(x(at))} ${TOP - 6}V${height - 28}" stroke="#ccc" stroke-width="0.7"/>`);
    ticks.push(text(x(at), TOP - 10, words, ' text-anchor="middle" font-size="11"'));
  }
  const words = head === null ? 'Clock time' : 'Minutes and seconds from the birth of the head';
  ticks.push(text(CHART.left, height - 10, words, ' font-size="11"'));
  return ticks.join('');
}

function rowOf(item: TimelineItem, y: number, { x }: Scale, index: number): string {
  const middle = y + ROW / 2;
  const ground =
    index % 2 === 0
      ? `<rect x="0" y="${y}" width="${WIDTH}" height="${ROW}" fill="#000" fill-opacity="0.035"/>`
      : '';
  const label = text(8, middle + 4, shortened(item.label));
  return ground + label + shapeOf(item, x, middle) + toldBeside(item, x, middle);
}

/** What does not fit beside the chart is cut; the whole is in the text alternative. */
const shortened = (label: string) => (label.length > 54 ? `${label.slice(0, 53)}\u2026` : label);

function shapeOf(item: TimelineItem, x: Scale['x'], y: number): string {
  switch (item.kind) {
    case 'interval': {
      const [from, to] = [round(x(item.fromMs)), round(x(item.toMs))];
      return `<path d="M${from} ${y - 5}V${y + 5}M${from} ${y}H${to}M${to} ${y - 5}V${y + 5}" stroke="#111" stroke-width="2" fill="none"/>`;
    }
    case 'landmark': {
      const at = round(x(item.atMs));
      return `<path d="M${at} ${y - 6}L${at + 6} ${y}L${at} ${y + 6}L${at - 6} ${y}Z" fill="#111"/>`;
    }
    case 'person': {
      const at = round(x(item.atMs));
      return `<path d="M${at} ${y - 6}L${at + 6} ${y + 5}H${at - 6}Z" fill="#fff" stroke="#111" stroke-width="1.5"/>`;
    }
    case 'bar': {
      const from = round(x(item.fromMs));
      const width = item.toMs === null ? 14 : Math.max(3, round(x(item.toMs)) - from);
      const look = item.end === 'called' ? 'fill="#888"' : 'fill="#ddd" stroke-dasharray="4 3"';
      return `<rect x="${from}" y="${y - 7}" width="${round(width)}" height="14" ${look} stroke="#111"/>`;
    }
  }
}

/** Times in words beside the shape, on whichever side there is room, with a white edge over the lines behind. */
function toldBeside(item: TimelineItem, x: Scale['x'], y: number): string {
  const from = x(beginOf(item)) - 9;
  const to = x(endOf(item)) + (item.kind === 'bar' && item.toMs === null ? 18 : 9);
  const width = item.short.length * 5.6;
  const look = ' font-size="11" stroke="#fff" stroke-width="3" paint-order="stroke"';
  if (to + width <= WIDTH - 4) return text(to, y + 4, item.short, look);
  return text(from, y + 4, item.short, `${look} text-anchor="end"`);
}
