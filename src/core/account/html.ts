import { minutesSeconds, secondsBetween } from '../facts/logged.ts';
import type { RecordFile } from '../log/events.ts';
import { aroundBirth } from '../log/time-bounds.ts';
import type { RecordView, ReleaseView } from '../log/view.ts';
import { escapeMarkup } from '../note/escape.ts';
import { PRACTICE_MARK } from '../note/model.ts';
import { firstDate, longDate, madeText } from '../note/times.ts';
import type { Account, AccountChoices, AccountLine } from './account.ts';

const WIDTH = 900;
const [LEFT, RIGHT] = [20, 880];

/** The order of events as a picture: one line of time with the numbers of the sentences; '' where nothing is timed. */
export function accountSvg(account: Account, view: RecordView): string {
  const shown = account.lines
    .map((line, index) => ({ line, number: index + 1 }))
    .filter(({ line }) => aroundBirth(view, line.atMs));
  if (shown.length < 2) return '';
  const [first, last] = [shown[0]!.line.atMs, shown.at(-1)!.line.atMs];
  const x = (atMs: number) =>
    Math.round((LEFT + ((atMs - first) / Math.max(1, last - first)) * (RIGHT - LEFT)) * 10) / 10;
  // Numbers that would touch stand one above the other, in as many rows as there is room for.
  const rowEnds: number[] = [];
  const marks = shown.map(({ line, number }) => {
    const at = x(line.atMs);
    const free = rowEnds.findIndex((end) => at - end >= 20);
    const row = free >= 0 ? free : rowEnds.length;
    rowEnds[row] = at;
    return { at, number, row };
  });
  const base = 24 + rowEnds.length * 15;
  const words = shown.map(({ line, number }) => `${number}, ${line.time}`).join('; ');
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${base + 32}" role="img" aria-label="Order of events in time: ${escapeMarkup(words)}" font-family="sans-serif" font-size="12" fill="#111">`,
    `<path d="M${LEFT} ${base}H${RIGHT}" stroke="#111" stroke-width="2"/>`,
    ...marks.map(({ at, number, row }) => {
      const y = base - 10 - row * 15;
      return `<path d="M${at} ${base + 5}V${y + 2}" stroke="#777"/><text x="${at}" y="${y}" text-anchor="middle" stroke="#fff" stroke-width="3" paint-order="stroke">${number}</text>`;
    }),
    `<text x="${LEFT}" y="${base + 22}">${escapeMarkup(shown[0]!.line.time)}</text>`,
    `<text x="${RIGHT}" y="${base + 22}" text-anchor="end">${escapeMarkup(shown.at(-1)!.line.time)} (${minutesSeconds(secondsBetween(view, first, last))} later)</text>`,
    '</svg>',
  ].join('');
}

const STYLE = `
body { font-family: 'Noto Sans', 'Liberation Sans', 'Segoe UI', Roboto, Helvetica, Arial, sans-serif; color: #111; background: #fff; max-width: 52rem; margin: 0 auto; padding: 1rem; line-height: 1.35; }
h1 { font-size: 1.5rem; margin: 0 0 0.2rem; }
h2 { font-size: 1.1rem; margin: 0.8rem 0 0.2rem; }
p { margin: 0.2rem 0; overflow-wrap: anywhere; white-space: pre-line; }
ol { columns: 22rem 2; column-gap: 1.5rem; margin: 0.3rem 0; padding-left: 2rem; }
li { break-inside: avoid; overflow-wrap: anywhere; }
.time { font-variant-numeric: tabular-nums; color: #333; margin-right: 0.4rem; }
.mark { border: 3px solid #111; padding: 0.1rem 0.6rem; font-weight: 700; text-align: center; }
svg { width: 100%; height: auto; max-height: 9rem; }
footer { margin-top: 0.8rem; border-top: 1px solid #777; padding-top: 0.2rem; font-size: 0.85rem; }
@page { size: A4; margin: 12mm; }
@media print { body { max-width: none; padding: 0; font-size: 9.5pt; } ol { columns: 2; font-size: 9pt; line-height: 1.22; } h1 { font-size: 14pt; } h2 { font-size: 11pt; } footer { font-size: 8pt; } }
`;

/**
 * The account as one printed page.
 * @param release who read and released it; null for a preview, which says that it is none.
 */
export function accountHtml(
  file: RecordFile,
  view: RecordView,
  account: Account,
  choices: AccountChoices,
  release: ReleaseView | null,
): string {
  const practice = view.mode === 'practice';
  const item = ({ time, text }: AccountLine) =>
    `<li><span class="time">${escapeMarkup(time)}</span>${escapeMarkup(text)}</li>`;
  const { headToBody, lines, staff } = account;
  const own = choices.ownWords.trim();
  const foot =
    release === null
      ? 'DRAFT \u2013 not read and not released.'
      : `Read and released by ${release.name}, ${release.role}, ${madeText(release.madeAt)}. Record ${file.recordId}.${release.superseded === null ? '' : ` OUT OF DATE: the record was changed on ${madeText(release.superseded.madeAt)}.`}`;
  const mark = practice ? `<p class="mark">${escapeMarkup(PRACTICE_MARK)}</p>` : '';
  const old = release?.superseded ? '<p class="mark">OUT OF DATE \u2013 do not hand out</p>' : '';
  return [
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Account for the parents</title>',
    `<style>${STYLE}</style></head><body>${mark}${old}`,
    `<h1>What happened at the birth of your baby</h1><p>${escapeMarkup(longDate(firstDate(view)))}</p>`,
    accountSvg(account, view),
    `<ol>${lines.map(item).join('')}</ol>`,
    headToBody === null ? '' : `<p><strong>${escapeMarkup(headToBody.text)}</strong></p>`,
    own === '' ? '' : `<h2>In the words of your clinician</h2><p>${escapeMarkup(own)}</p>`,
    choices.staffNames && staff.length > 0
      ? `<h2>Staff with you</h2><p>${escapeMarkup(staff.join('\n'))}</p>`
      : '',
    `<footer><p>${escapeMarkup(foot)}</p></footer>${mark}</body></html>`,
  ].join('');
}
