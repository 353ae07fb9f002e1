import { describe, expect, test } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { longestCommon, median } from '../../../src/core/practice/compare.ts';
import { debrief } from '../../../src/core/practice/debrief.ts';
import type { Drill, DrillTruth, DrillWay, PlayedLine } from '../../../src/core/practice/drill.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { asked, practiceRecord, touch, unrecognised, voice, type Act } from './drill-record.ts';

const vocabulary = loadVocabulary();
const head: Entry = { code: 'head-delivered' };
const help: Entry = { code: 'help-called' };
const body: Entry = { code: 'body-delivered' };
const legs: Entry = { code: 'mcroberts', phase: 'start' };
const pressure = (side: 'left' | 'right'): Entry => ({ code: 'suprapubic-pressure', phase: 'start', side });
const arrived = (role: string): Entry => ({ code: 'role-arrived', role });
const called = (role: string): Entry => ({ code: 'role-called', role });

const event = (id: string, s: number, entry: Entry, said?: boolean): DrillTruth => ({
  id,
  atMs: s * 1000,
  entry,
  ...(said === undefined ? {} : { said }),
});
const line = (s: number, text: string, ...says: string[]): PlayedLine => ({ atMs: s * 1000, text, says });
const drillOf = (way: DrillWay, truth: DrillTruth[], lines: PlayedLine[] = []): Drill => ({
  format: 'utterlog-drill',
  version: 1,
  recordId: 'drill-1',
  way,
  scenarioId: 'invented',
  scenarioTitle: 'Invented',
  startedAt: '2026-03-05T10:00:00.000+00:00',
  truth,
  lines,
});
const of = (drill: Drill, acts: Act[]) => debrief(drill, foldRecord(practiceRecord(acts)), vocabulary);

/** Worked by hand; seconds. Head 10 (said 11), help 15 (said 40: late), legs 20 (never said),
 *  paediatrician called 25 (said 26), pressure 30 from the left (said 31, from the right: wrong),
 *  paediatrician 60 (said 64), body 100 (said 100.5). */
const live = drillOf('live', [
  event('head', 10, head),
  event('help', 15, help),
  event('legs', 20, legs),
  event('called', 25, called('paediatrician')),
  event('pressure', 30, pressure('left')),
  event('here', 60, arrived('paediatrician')),
  event('body', 100, body),
]);
const heard = [
  voice(11, 'head delivered', head),
  voice(26, 'call the paediatrician', called('paediatrician')),
  voice(31, 'suprapubic pressure from the right', pressure('right')),
  voice(40, 'help called', help),
  voice(64, 'paediatrician is here', arrived('paediatrician')),
  voice(100.5, 'baby out', body),
];

describe('a live drill worked by hand', () => {
  const result = of(live, heard);

  test('each event is called, late, wrong or missing', () => {
    expect(result.events.map(({ id, status, errorMs }) => [id, status, errorMs])).toEqual([
      ['head', 'called', 1000],
      ['help', 'late', 25_000],
      ['legs', 'missing', null],
      ['called', 'called', 1000],
      ['pressure', 'wrong', 1000],
      ['here', 'called', 4000],
      ['body', 'called', 500],
    ]);
    expect(result.counts).toEqual({ called: 4, late: 1, early: 0, wrong: 1, missing: 1 });
  });

  test('time error: 0.5, 1, 1, 1, 4, 25 s have the median 1 s; five of six within 5 s', () => {
    expect(result.timeError).toEqual({ count: 6, medianMs: 1000, largestMs: 25_000, within5s: 5 });
  });

  test('head to body: 90 s in truth, 89.5 s in the record', () => {
    expect(result.headToBody).toEqual({
      truthMs: 90_000,
      recordedMs: 89_500,
      truthSeconds: 90,
      recordedSeconds: 89,
      errorMs: -500,
    });
  });

  test('the wrong slot is named, and that nothing was heard of the legs', () => {
    const byId = (id: string) => result.events.find((e) => e.id === id)!;
    expect(byId('pressure').differences).toEqual([{ slot: 'side', truth: 'left', recorded: 'right' }]);
    expect(byId('pressure').cause).toBe('not-known');
    expect(byId('legs')).toMatchObject({ cause: 'nothing-heard', saidAloud: null, heard: [] });
    expect(result.saidAloud).toEqual({ count: 6, of: 7 });
  });

  test('manoeuvres: two in truth, one in the record', () => {
    expect(result.order).toEqual({
      truth: ['mcroberts', 'suprapubic-pressure'],
      recorded: ['suprapubic-pressure'],
      inOrder: 1,
    });
  });

  test('the paediatrician: called at 25, here at 60 is 35 s; recorded 26 to 64 is 38 s', () => {
    expect(result.roles).toEqual([
      {
        role: 'paediatrician',
        called: 'called',
        arrived: 'called',
        delay: { truthMs: 35_000, recordedMs: 38_000, truthSeconds: 35, recordedSeconds: 38, errorMs: 3000 },
        delayFrom: 'role-called',
      },
    ]);
  });

  test('groups: birth 2 of 2, team 3 of 3, manoeuvres 1 of 2 and that one wrong', () => {
    expect(result.groups).toEqual([
      { group: 'birth', events: 2, recorded: 2, right: 2 },
      { group: 'team', events: 3, recorded: 3, right: 3 },
      { group: 'manoeuvres', events: 2, recorded: 1, right: 0 },
    ]);
  });

  test('fields of the note: by the truth, the legs would be among the manoeuvres', () => {
    const timings = (side: 'truth' | 'recorded') =>
      result.fields[side].groups.find((group) => group.id === 'timings')!.recorded;
    expect(timings('truth')).toBe(timings('recorded'));
    expect(result.fields.truth.recorded).toBeGreaterThanOrEqual(result.fields.recorded.recorded);
  });
});

describe('misheard against never said', () => {
  const truth = [event('legs', 20, legs)];

  test('live: something was heard near it and nobody noted what was said', () => {
    const [legsDebrief] = of(drillOf('live', truth), [unrecognised(22, 'make robots')]).events;
    expect(legsDebrief).toMatchObject({ status: 'missing', cause: 'not-known', saidAloud: null });
    expect(legsDebrief!.heard.map((h) => h.heard)).toEqual(['make robots']);
  });

  test('live: the facilitator noted that it was said', () => {
    const noted = [event('legs', 20, legs, true)];
    expect(of(drillOf('live', noted), [unrecognised(22, 'make robots')]).events[0]!.cause).toBe('misheard');
    expect(of(drillOf('live', noted), []).events[0]!.cause).toBe('not-heard');
    expect(
      of(drillOf('live', [event('legs', 20, legs, false)]), [unrecognised(22, 'x')]).events[0]!.cause,
    ).toBe('not-said');
  });

  test('live: heard too long before or after explains nothing', () => {
    const result = of(drillOf('live', truth), [unrecognised(14, 'before'), unrecognised(41, 'after')]);
    expect(result.events[0]!.cause).toBe('nothing-heard');
  });

  test('live: what stands behind another event explains nothing', () => {
    const both = [event('head', 19, head), event('legs', 20, legs)];
    expect(of(drillOf('live', both), [voice(20.5, 'head out', head)]).events[1]!.cause).toBe('nothing-heard');
  });

  test('recording: the line was spoken and came out as other words', () => {
    const played = drillOf('recording', [event('legs', 20, legs, true)], [line(21, 'legs back', 'legs')]);
    const result = of(played, [unrecognised(21.2, 'lets pack')]);
    expect(result.events[0]).toMatchObject({ cause: 'misheard', spoken: 'legs back', saidAloud: true });
  });

  test('recording: the line was asked about and nobody answered', () => {
    const played = drillOf('recording', [event('legs', 20, legs, true)], [line(21, 'legs back', 'legs')]);
    expect(of(played, [asked(21.2, 'legs black', legs)]).events[0]!.cause).toBe('asked');
  });

  test('recording: a wrong side that was heard as spoken was called wrongly', () => {
    const spoken = line(31, 'suprapubic pressure from the right', 'pressure');
    const played = drillOf('recording', [event('pressure', 30, pressure('left'), true)], [spoken]);
    const wrong = (words: string) => of(played, [voice(31, words, pressure('right'))]).events[0]!.cause;
    expect(wrong('suprapubic pressure from the right')).toBe('called-wrongly');
    expect(wrong('suprapubic from right')).toBe('misheard');
  });

  test('table-top: what was typed is what was meant', () => {
    const drill = drillOf('table-top', [event('pressure', 30, pressure('left'))]);
    expect(of(drill, [voice(33, 'pressure from the right', pressure('right'))]).events[0]!.cause).toBe(
      'called-wrongly',
    );
  });
});

describe('a recording that was stopped', () => {
  const truth = [event('head', 10, head, true), event('body', 70, body, true)];
  const played = drillOf('recording', truth, [line(11, 'head out', 'head'), line(71, 'baby out', 'body')]);
  const stopped = (body: EventBody) => {
    const file = practiceRecord([voice(11, 'head out', head)]);
    const made = { by: { kind: 'system' } as const, madeAtMs: 30_000, madeAt: file.createdAt };
    const events = [...file.events, ...sealEvents(file.events.at(-1)!, [body], made)];
    return debrief(played, foldRecord({ ...file, events }), vocabulary).events.map(({ id }) => id);
  };

  test('what it did not reach is not missing', () => {
    expect(stopped({ kind: 'finish', atMs: 30_000 })).toEqual(['head']);
    expect(stopped({ kind: 'speech-state', state: 'unavailable', why: 'stopped', atMs: 30_000 })).toEqual([
      'head',
    ]);
    expect(stopped({ kind: 'finish', atMs: 90_000 })).toEqual(['head', 'body']);
  });
});

describe('what else stands in the record', () => {
  test('the same call again is a repeat, a call for nothing is unexpected', () => {
    const result = of(drillOf('live', [event('head', 10, head)]), [
      voice(11, 'head out', head),
      voice(14, 'head is out', head),
      voice(20, 'baby out', body),
    ]);
    expect(result.extras.map(({ entry, kind }) => [entry.code, kind])).toEqual([
      ['head-delivered', 'repeat'],
      ['body-delivered', 'unexpected'],
    ]);
  });

  test('head to body is in doubt where the head is recorded twice', () => {
    const result = of(drillOf('live', [event('head', 10, head), event('body', 70, body)]), [
      voice(11, 'head out', head),
      voice(14, 'head is out', head),
      voice(70, 'baby out', body),
    ]);
    expect(result.headToBody).toEqual({
      truthMs: 60_000,
      recordedMs: null,
      truthSeconds: 60,
      recordedSeconds: null,
      errorMs: null,
    });
  });

  test('a helper’s touch is in the record, and whether it was said is not known', () => {
    const result = of(drillOf('live', [event('head', 10, head)]), [touch(12, head)]);
    expect(result.events[0]).toMatchObject({ status: 'called', saidAloud: null });
    expect(result.saidAloud).toEqual({ count: 0, of: 1 });
  });

  test('an empty drill has no figures', () => {
    const result = of(drillOf('live', []), []);
    expect(result.timeError).toEqual({ count: 0, medianMs: null, largestMs: null, within5s: 0 });
    expect(result.headToBody).toEqual({
      truthMs: null,
      recordedMs: null,
      truthSeconds: null,
      recordedSeconds: null,
      errorMs: null,
    });
    expect(result.saidAloud).toEqual({ count: 0, of: 0 });
  });
});

describe('small figures', () => {
  test('median', () => {
    expect(median([])).toBeNull();
    expect(median([3])).toBe(3);
    expect(median([9, 1, 4])).toBe(4);
    expect(median([1, 2, 3, 100])).toBe(2.5);
  });

  test('longest common order: a c e of "abcde" and "acbe" is a, b or c, e', () => {
    expect(longestCommon([...'abcde'], [...'acbe'])).toBe(3);
    expect(longestCommon([], ['a'])).toBe(0);
  });
});
