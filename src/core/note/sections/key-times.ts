import { logged, knownText } from '../../facts/logged.ts';
import type { Interval } from '../../facts/types.ts';
import type { EntryView } from '../../log/view.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { NOT_RECORDED, type Section } from '../model.ts';
import page from '../page.json';
import { fromHead, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** Landmarks of the birth with their times; those that every birth has stand even when nobody gave them. */
export function keyTimesSection({ view, vocabulary, lines }: NoteParts): Section {
  const group = [...vocabulary.codes.values()].filter((info) => info.group === page.keyTimes.group);
  const always = new Set(page.always);
  const codes = [...new Set([...group.map(({ code }) => code), ...page.keyTimes.also])];
  const rows = codes.flatMap((code): { atMs: number; row: string[] }[] => {
    const entries = logged(view, code);
    const { label } = codeInfo(vocabulary, code);
    if (entries.length > 0)
      return entries.map((e) => ({
        atMs: e.atMs,
        row: [label, [timeText(view, e.atMs), ...remarksOf(e)].join(', '), fromHead(view, e.atMs)],
      }));
    const asked = view.questions.some(
      ({ state, entries }) => state === 'open' && entries.some((e) => e.code === code),
    );
    const told = asked ? `${NOT_RECORDED}; asked and not answered` : NOT_RECORDED;
    return always.has(code) ? [{ atMs: Infinity, row: [label, told, NOT_RECORDED] }] : [];
  });
  function remarksOf(e: EntryView): string[] {
    const line = lines.find(({ entry }) => entry.entryId === e.entryId);
    const marks = (line?.marks ?? []).filter((mark) => !mark.startsWith('confirmed by'));
    return e.addedLater ? [...marks, 'added later'] : marks;
  }
  const table = {
    columns: ['Event', 'Time', 'From head'],
    rows: rows.sort((a, b) => order(a.atMs, b.atMs)).map(({ row }) => row),
  };
  return { id: 'key-times', title: 'Key times', half: true, blocks: [{ kind: 'table', table }] };
}

const order = (a: number, b: number) => (a === b ? 0 : a < b ? -1 : 1);

/** Arrivals stand with the team, lengths of manoeuvres with these. */
const ELSEWHERE = /^(help-to|called-to|pressure)-/;

/** Each interval with what it is worked out from. */
export function intervalSection({ facts }: NoteParts): Section {
  const rows = facts.intervals.filter(({ id }) => !ELSEWHERE.test(id)).map(intervalRow);
  const table = { columns: ['Interval', 'Length', 'Worked out as'], rows };
  return { id: 'intervals', title: 'Intervals', half: true, blocks: [{ kind: 'table', table }] };
}

function intervalRow({ label, value, formula, marks }: Interval): string[] {
  switch (value.kind) {
    case 'known':
      return [label, knownText(value), marks.length > 0 ? `${formula} (${marks.join(', ')})` : formula];
    case 'not recorded':
      return [label, NOT_RECORDED, `${formula} (missing: ${value.missing})`];
    case 'conflict':
      return [label, 'CONFLICT', `${formula} (${value.why})`];
  }
}
