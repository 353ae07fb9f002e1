import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { endWasCalled, isActOfAMoment, manoeuvres, underWay } from '../../../src/core/facts/manoeuvres.ts';
import { at, MadeRecord } from '../log/make-record.ts';

const recordOf = (...called: [number, Entry][]) => {
  const record = new MadeRecord();
  for (const [atMs, entry] of called) record.called(atMs, entry.code, entry);
  return record;
};
const told = (record: MadeRecord) =>
  manoeuvres(record.view).spans.map(({ number, code, startMs, end, outcome }) => [
    number,
    code,
    startMs,
    end.kind,
    end.kind === 'not recorded' ? null : end.atMs,
    outcome,
  ]);

describe('manoeuvre spans', () => {
  it('run from a start or a bare call to their stop, result or the birth', () => {
    const record = recordOf(
      [at(1), { code: 'mcroberts' }],
      [at(1, 20), { code: 'suprapubic-pressure', phase: 'start', side: 'left' }],
      [at(1, 50), { code: 'suprapubic-pressure', phase: 'stop' }],
      [at(2), { code: 'posterior-arm', phase: 'start' }],
      [at(2, 40), { code: 'posterior-arm', phase: 'done' }],
      [at(3), { code: 'body-delivered' }],
    );
    expect(told(record)).toEqual([
      [1, 'mcroberts', at(1), 'delivery', at(3), null],
      [2, 'suprapubic-pressure', at(1, 20), 'called', at(1, 50), null],
      [3, 'posterior-arm', at(2), 'outcome', at(2, 40), 'done'],
    ]);
    expect(manoeuvres(record.view).spans.map((s) => s.nextStartMs)).toEqual([at(1, 20), at(2), null]);
  });

  it('keep an end that nobody called out as not recorded', () => {
    expect(told(recordOf([at(1), { code: 'rubin-2', phase: 'start' }]))).toEqual([
      [1, 'rubin-2', at(1), 'not recorded', null, null],
    ]);
  });

  it('a result without a beginning has no start; a stop without a start is a conflict', () => {
    const arm = recordOf([at(2), { code: 'posterior-arm', phase: 'done' }]);
    expect(told(arm)).toEqual([[1, 'posterior-arm', null, 'outcome', at(2), 'done']]);
    const stop = recordOf([at(2), { code: 'suprapubic-pressure', phase: 'stop' }]);
    expect(manoeuvres(stop.view).conflicts.map((c) => c.sentence)).toEqual([
      'The end of suprapubic pressure was called out at 14:02:00; its start is not recorded.',
    ]);
  });

  it('pressure from the other side, or of the other kind, is a span of its own', () => {
    const record = recordOf(
      [at(1), { code: 'suprapubic-pressure', phase: 'start', side: 'left' }],
      [at(1, 10), { code: 'suprapubic-pressure', style: 'continuous' }],
      [at(2), { code: 'suprapubic-pressure', side: 'right' }],
    );
    expect(told(record)).toEqual([
      [1, 'suprapubic-pressure', at(1), 'replaced', at(2), null],
      [2, 'suprapubic-pressure', at(2), 'not recorded', null, null],
    ]);
  });

  it('one position ends the other, and the hand taken out ends what it was doing', () => {
    const record = recordOf(
      [at(1), { code: 'mcroberts' }],
      [at(2), { code: 'internal-entry', phase: 'start' }],
      [at(2, 5), { code: 'woods-screw', phase: 'start' }],
      [at(2, 30), { code: 'internal-entry', phase: 'stop' }],
      [at(3), { code: 'all-fours' }],
    );
    expect(told(record).map(([, code, , end]) => [code, end])).toEqual([
      ['mcroberts', 'replaced'],
      ['internal-entry', 'called'],
      ['woods-screw', 'hand-out'],
      ['all-fours', 'not recorded'],
    ]);
  });

  it('gives "no effect" to what is under way, and says when it could be either of several', () => {
    const one = recordOf([at(1), { code: 'mcroberts' }], [at(1, 30), { code: 'no-effect' }]);
    expect(manoeuvres(one.view).spans[0]!.noEffect).toMatchObject([{ atMs: at(1, 30), shared: false }]);
    const two = recordOf(
      [at(1), { code: 'mcroberts' }],
      [at(1, 5), { code: 'rubin-2' }],
      [at(1, 30), { code: 'no-effect' }],
    );
    expect(manoeuvres(two.view).spans.map((s) => s.noEffect[0]!.shared)).toEqual([true, true]);
    expect(manoeuvres(two.view).spans.map((s) => s.end.kind)).toEqual(['not recorded', 'not recorded']);
  });

  it('a manoeuvre timed after the birth is a conflict; "no episiotomy" is no manoeuvre', () => {
    const record = recordOf(
      [at(1), { code: 'episiotomy', decision: 'not-needed' }],
      [at(2), { code: 'body-delivered' }],
      [at(3), { code: 'all-fours' }],
    );
    expect(told(record)).toHaveLength(1);
    expect(deriveFacts(record.view).conflicts.map((c) => c.kind)).toEqual(['order']);
  });

  it('a stop called out after the result is the end', () => {
    const record = recordOf(
      [at(1), { code: 'posterior-arm', phase: 'start' }],
      [at(1, 40), { code: 'posterior-arm', phase: 'failed' }],
      [at(1, 50), { code: 'posterior-arm', phase: 'stop' }],
    );
    expect(told(record)).toEqual([[1, 'posterior-arm', at(1), 'called', at(1, 50), 'failed']]);
  });
});

describe('what is under way', () => {
  it('is what began and has not ended at that moment, newest first', () => {
    const record = recordOf(
      [at(1), { code: 'mcroberts' }],
      [at(1, 20), { code: 'suprapubic-pressure', phase: 'start', side: 'left' }],
      [at(1, 30), { code: 'internal-entry', phase: 'start' }],
      [at(1, 35), { code: 'episiotomy', phase: 'done' }],
      [at(1, 50), { code: 'suprapubic-pressure', phase: 'stop' }],
      [at(3), { code: 'body-delivered' }],
    );
    const codes = (atMs: number) => underWay(record.view, atMs).map((u) => [u.code, u.forMs]);
    expect(codes(at(0, 59))).toEqual([]);
    expect(codes(at(1, 40))).toEqual([
      ['suprapubic-pressure', 20_000],
      ['mcroberts', 40_000],
    ]);
    expect(codes(at(2))).toEqual([['mcroberts', 60_000]]);
    expect(codes(at(3, 1))).toEqual([]);
  });
});

describe('an end', () => {
  const ends = (record: MadeRecord) =>
    told(record).map(([, code, startMs, end, endMs, outcome]) => [code, startMs, end, endMs, outcome]);

  it('that was called out late is the end, whatever bounded the manoeuvre before', () => {
    const record = recordOf(
      [at(1), { code: 'woods-screw', phase: 'start' }],
      [at(1, 20), { code: 'rubin-2', phase: 'start' }],
      [at(1, 40), { code: 'woods-screw', phase: 'stop' }],
      [at(2), { code: 'mcroberts', phase: 'start' }],
      [at(3), { code: 'body-delivered' }],
      [at(3, 10), { code: 'mcroberts', phase: 'stop' }],
    );
    expect(ends(record)).toEqual([
      ['woods-screw', at(1), 'called', at(1, 40), null],
      ['rubin-2', at(1, 20), 'delivery', at(3), null],
      ['mcroberts', at(2), 'called', at(3, 10), null],
    ]);
    expect(manoeuvres(record.view).conflicts).toEqual([]);
  });

  it('by the next internal manoeuvre is a bound, no end; outside manoeuvres go on', () => {
    const record = recordOf(
      [at(1), { code: 'suprapubic-pressure', phase: 'start' }],
      [at(1, 10), { code: 'rubin-2', phase: 'start' }],
      [at(1, 30), { code: 'posterior-arm', phase: 'start' }],
    );
    expect(ends(record)).toEqual([
      ['suprapubic-pressure', at(1), 'not recorded', null, null],
      ['rubin-2', at(1, 10), 'followed', at(1, 30), null],
      ['posterior-arm', at(1, 30), 'not recorded', null, null],
    ]);
    expect(manoeuvres(record.view).spans.map(endWasCalled)).toEqual([false, false, false]);
  });

  it('is not made by what is named in one breath: those run together', () => {
    const record = new MadeRecord()
      .called(at(1), 'rubin', { code: 'rubin-2', phase: 'start' })
      .called(at(1, 20), 'woods with the rubin', { code: 'woods-screw' }, { code: 'rubin-2' });
    expect(ends(record)).toEqual([
      ['rubin-2', at(1), 'not recorded', null, null],
      ['woods-screw', at(1, 20), 'not recorded', null, null],
    ]);
  });

  it('of a result that comes after the next was begun belongs to the manoeuvre that it names', () => {
    const record = recordOf(
      [at(1), { code: 'posterior-arm', phase: 'start' }],
      [at(1, 20), { code: 'rubin-2', phase: 'start' }],
      [at(1, 25), { code: 'posterior-arm', phase: 'failed' }],
      [at(1, 50), { code: 'rubin-2', phase: 'stop' }],
      [at(1, 55), { code: 'rubin-2', phase: 'failed' }],
    );
    expect(ends(record)).toEqual([
      ['posterior-arm', at(1), 'outcome', at(1, 25), 'failed'],
      ['rubin-2', at(1, 20), 'called', at(1, 50), 'failed'],
    ]);
  });

  it('of everything inside is the hand taken out; one of two hands ends only itself', () => {
    const hand = (side: 'left' | 'right', phase: 'start' | 'stop') => ({
      code: 'internal-entry',
      hand: side,
      phase,
    });
    const record = recordOf(
      [at(1), hand('right', 'start')],
      [at(1, 5), { code: 'rubin-2', phase: 'start' }],
      [at(1, 10), hand('left', 'start')],
      [at(1, 30), hand('right', 'stop')],
      [at(1, 40), { code: 'internal-entry', phase: 'stop' }],
    );
    expect(ends(record)).toEqual([
      ['internal-entry', at(1), 'called', at(1, 30), null],
      ['rubin-2', at(1, 5), 'hand-out', at(1, 40), null],
      ['internal-entry', at(1, 10), 'called', at(1, 40), null],
    ]);
  });

  it('of traction that was only named is its moment', () => {
    const record = recordOf([at(1), { code: 'axial-traction' }], [at(2), { code: 'body-delivered' }]);
    expect(ends(record)).toEqual([['axial-traction', at(1), 'called', at(1), null]]);
    expect(isActOfAMoment(manoeuvres(record.view).spans[0]!)).toBe(true);
  });
});

describe('pressure', () => {
  it('is a length with its inputs; no manoeuvre is ranked', () => {
    const record = recordOf(
      [at(1), { code: 'suprapubic-pressure', phase: 'start' }],
      [at(1, 45), { code: 'suprapubic-pressure', phase: 'stop' }],
      [at(1, 50), { code: 'rubin-2', phase: 'start' }],
    );
    const { intervals } = deriveFacts(record.view);
    expect(intervals.find((i) => i.id === 'pressure-1')!.value).toMatchObject({ seconds: 45 });
    expect(intervals.some((i) => /longest/i.test(i.label))).toBe(false);
  });
});
