import { describe, expect, test } from 'vitest';
import { foldRecord } from '../../../src/core/log/fold.ts';
import {
  debriefCsv,
  debriefJson,
  practiceFileName,
  trendsCsv,
} from '../../../src/core/practice/debrief-export.ts';
import { debrief } from '../../../src/core/practice/debrief.ts';
import {
  markTruth,
  newDrill,
  noteSaid,
  playedDrill,
  playedUntil,
  unmarkTruth,
} from '../../../src/core/practice/drill.ts';
import { emptyScenario, type Scenario } from '../../../src/core/practice/scenario.ts';
import { trend, trendPoint, trendSummary, type TrendPoint } from '../../../src/core/practice/trends.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { practiceRecord, voice } from './drill-record.ts';

const vocabulary = loadVocabulary();
const scenario: Scenario = {
  ...emptyScenario('short', '=HYPERLINK("x")'),
  lengthMs: 30_000,
  speakers: [{ id: 'm', role: 'midwife' }],
  truth: [
    { id: 'head', atMs: 1_000, entry: { code: 'head-delivered' } },
    { id: 'help', atMs: 5_000, entry: { code: 'help-called' } },
    { id: 'legs', atMs: 9_000, entry: { code: 'mcroberts', phase: 'start' } },
    { id: 'body', atMs: 20_000, entry: { code: 'body-delivered' } },
  ],
  lines: [
    { atMs: 2_000, speaker: 'm', text: 'head out', says: ['head'] },
    { atMs: 10_000, speaker: 'm', text: 'legs back', says: ['legs'] },
    { atMs: 22_000, speaker: 'm', text: 'baby out', says: ['body'] },
  ],
};
const drill = newDrill({
  recordId: 'drill-1',
  way: 'recording',
  scenario,
  startedAt: '2026-03-05T10:00:00.000+00:00',
});
const played = playedDrill(drill, scenario, 3_000);
const view = foldRecord(
  practiceRecord([
    voice(5, 'head out', { code: 'head-delivered' }),
    voice(25, 'baby out', { code: 'body-delivered' }),
  ]),
);

describe('drills', () => {
  test('a recording that began at 3 s of the record shifts its truth and lines by 3 s', () => {
    expect(played.truth.map(({ id, atMs, said }) => [id, atMs, said])).toEqual([
      ['head', 4_000, true],
      ['help', 8_000, false],
      ['legs', 12_000, true],
      ['body', 23_000, true],
    ]);
    expect(played.lines.map(({ atMs }) => atMs)).toEqual([5_000, 13_000, 25_000]);
  });

  test('what a stopped recording did not reach did not happen, and was not said', () => {
    const stopped = playedUntil(played, 12_500);
    expect(stopped.truth.map(({ id, said }) => [id, said])).toEqual([
      ['head', true],
      ['help', false],
      ['legs', false],
    ]);
  });

  test('a facilitator’s marks stand in time order, can be taken back, and can say whether it was called', () => {
    const head = { id: 'a', atMs: 2_000, entry: { code: 'head-delivered' } };
    const help = { id: 'b', atMs: 1_000, entry: { code: 'help-called' } };
    const marked = markTruth(markTruth(drill, head), help);
    expect(marked.truth.map(({ id }) => id)).toEqual(['b', 'a']);
    expect(noteSaid(marked, 'a', false).truth[1]).toEqual({ ...head, said: false });
    expect(noteSaid(noteSaid(marked, 'a', false), 'a', undefined).truth[1]).toEqual(head);
    expect(unmarkTruth(marked, 'b').truth).toEqual([head]);
  });
});

describe('trends', () => {
  test('two of four recorded, errors 1 s and 2 s, three of four called out', () => {
    expect(trendPoint(debrief(played, view, vocabulary))).toMatchObject({
      completeness: 0.5,
      medianErrorMs: 1500,
      saidAloud: 0.75,
    });
  });

  const point = (startedAt: string, scenarioId: string, completeness: number | null): TrendPoint => ({
    recordId: startedAt,
    startedAt,
    scenarioId,
    scenarioTitle: scenarioId,
    way: 'live',
    completeness,
    medianErrorMs: 1000,
    saidAloud: 1,
  });
  const points = [
    point('2026-03-09T08:00:00+00:00', 'b', 1),
    point('2026-03-05T23:30:00+00:00', 'a', 0.5),
    point('2026-03-07T12:00:00+00:00', 'a', null),
  ];

  test('oldest first; days are included at both ends; one scenario', () => {
    const days = (filter: Partial<Parameters<typeof trend>[1]>) =>
      trend(points, { fromDay: '', toDay: '', scenarioId: '', ...filter }).map((p) =>
        p.startedAt.slice(8, 10),
      );
    expect(days({})).toEqual(['05', '07', '09']);
    expect(days({ fromDay: '2026-03-05', toDay: '2026-03-07' })).toEqual(['05', '07']);
    expect(days({ scenarioId: 'a' })).toEqual(['05', '07']);
    expect(days({ fromDay: '2026-03-10' })).toEqual([]);
  });

  test('medians leave out drills without a figure', () => {
    expect(trendSummary(points)).toEqual({
      drills: 3,
      completeness: 0.75,
      medianErrorMs: 1000,
      saidAloud: 1,
    });
    expect(trendSummary([])).toEqual({ drills: 0, completeness: null, medianErrorMs: null, saidAloud: null });
  });
});

describe('exports', () => {
  const result = debrief(played, view, vocabulary);

  test('every file and every line says that it is practice', () => {
    const [head, ...lines] = debriefCsv(result, vocabulary).trimEnd().split('\r\n');
    expect(head!.split(',')[0]).toBe('mark');
    expect(lines).toHaveLength(4);
    for (const line of lines) expect(line.startsWith('PRACTICE,')).toBe(true);
    expect(JSON.parse(debriefJson(result))).toMatchObject({
      mark: 'PRACTICE',
      format: 'utterlog-practice-debrief',
    });
    expect(practiceFileName('debrief', result.startedAt, 'Posterior arm', 'csv')).toBe(
      'PRACTICE_utterlog_debrief_2026-03-05_posterior-arm.csv',
    );
  });

  test('a scenario’s title cannot become a formula in a spreadsheet', () => {
    expect(debriefCsv(result, vocabulary)).toContain(`"'=HYPERLINK(""x"")"`);
    expect(trendsCsv([trendPoint(result)])).toContain(`"'=HYPERLINK(""x"")"`);
  });

  test('times in seconds from the first event: head true 0.0, recorded 1.0', () => {
    const line = debriefCsv(result, vocabulary).split('\r\n')[1]!;
    expect(line).toContain(',called,0.0,1.0,1.0,');
  });
});
