import { logged, knownText } from '../../facts/logged.ts';
import type { Interval } from '../../facts/types.ts';
import type { EntryView, RecordView } from '../../log/view.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { NOT_RECORDED, type Section, type Table } from '../model.ts';
import { deviceTimeText, fromHead, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** Codes that stand here with their times. */
export const LANDMARKS = [
  'head-delivered',
  'head-retracts',
  'dystocia-declared',
  'help-called',
  'anterior-shoulder-delivered',
  'posterior-shoulder-delivered',
  'shoulders-delivered',
  'body-delivered',
  'cord-clamped',
  'placenta-delivered',
];
/** Those that every birth has stand even when nobody gave them. */
const ALWAYS = new Set(['head-delivered', 'dystocia-declared', 'help-called', 'body-delivered']);

export function keyTimesSection({ view, facts, vocabulary }: NoteParts): Section {
  const rows = LANDMARKS.flatMap((code) => {
    const entries = logged(view, code);
    const { label } = codeInfo(vocabulary, code);
    if (entries.length > 0) return entries.map((e) => landmarkRow(view, label, e));
    const asked = view.questions.some(
      ({ state, entries }) => state === 'open' && entries.some((e) => e.code === code),
    );
    const remark = asked ? 'no entry; a question about it is open' : 'no entry';
    return ALWAYS.has(code) ? [[label, NOT_RECORDED, NOT_RECORDED, remark]] : [];
  });
  const times: Table = { columns: ['Event', 'Time', 'From head (min:s)', 'Remark'], rows };
  const lengths: Table = {
    columns: ['Interval', 'Length (min:s)', 'Worked out as'],
    rows: facts.intervals.map((interval) => intervalRow(interval, interval.label)),
  };
  return {
    id: 'key-times',
    title: 'Key times and intervals',
    blocks: [
      { kind: 'table', table: times },
      { kind: 'table', table: lengths },
    ],
  };
}

function landmarkRow(view: RecordView, label: string, e: EntryView): string[] {
  return [label, timeText(view, e.atMs), fromHead(view, e.atMs), remarkOf(view, e)];
}

function remarkOf(view: RecordView, e: EntryView): string {
  const remarks: string[] = [];
  if (e.estimated) remarks.push('estimated');
  const shift = e.changes.findLast(({ kind }) => kind === 'shift');
  if (shift !== undefined) remarks.push(`corrected, was ${timeText(view, shift.atMs)}`);
  if (e.addedLater) remarks.push('added later');
  if (view.clockOffset !== null) remarks.push(`${deviceTimeText(view, e.atMs)} by this device`);
  return remarks.length > 0 ? remarks.join(', ') : 'timed';
}

function intervalRow({ value, formula, marks }: Interval, label: string): string[] {
  switch (value.kind) {
    case 'known':
      return [label, knownText(value), `${formula} (${marks.length > 0 ? marks.join(', ') : 'timed'})`];
    case 'not recorded':
      return [label, NOT_RECORDED, `${formula} (missing: ${value.missing})`];
    case 'conflict':
      return [label, 'CONFLICT', `${formula} (${value.why})`];
  }
}
