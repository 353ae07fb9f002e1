import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { lifeOf, openQuestions, questionAsked } from '../../../src/core/dialogue/asked.ts';
import { isOpenAt, SHOWN_FOR_MS, shownAt } from '../../../src/core/dialogue/shown.ts';
import { contextOf, takeIn } from '../../../src/core/dialogue/take-in.ts';
import { undoOf } from '../../../src/core/dialogue/undo.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { MadeRecord } from '../log/make-record.ts';

const vocabulary = loadVocabulary();

/** One step of a room: words whose speech begins at a second, or a touch at one. */
type Step =
  { s: number; say: string; shownAfter?: number } | { s: number; touch: (record: MadeRecord) => EventBody[] };

const say = (s: number, words: string, shownAfter?: number): Step => ({ s, say: words, shownAfter });
const logs = (s: number, entry: Entry): Step => ({
  s,
  touch: (record) => [{ kind: 'entry', entryId: record.newId(), entry, atMs: s * 1000, timing: 'touch' }],
});
const undoTouch = (s: number): Step => ({
  s,
  touch: ({ view, newId }) => undoOf(shownAt(view, s * 1000), view, newId, s * 1000)?.bodies ?? [],
});

/** Plays the steps: an utterance is interpreted as the app does it, and is in the log 0.6 s after its end. */
function play(steps: Step[]): MadeRecord {
  const record = new MadeRecord();
  for (const step of steps) {
    const onsetMs = step.s * 1000;
    if ('touch' in step) {
      record.append({ kind: 'helper' }, onsetMs, ...step.touch(record));
      continue;
    }
    const endMs = onsetMs + 1000;
    const heard = { onsetMs, endMs, heard: { tuned: { text: step.say } } };
    const { bodies } = takeIn(heard, record.view, vocabulary, record.newId);
    record.append({ kind: 'voice' }, endMs + (step.shownAfter ?? 0.6) * 1000, ...bodies);
  }
  return record;
}

/** What stands, what the strip shows and how the questions stand, at a second. */
function told(record: MadeRecord, s: number) {
  const { view } = record;
  const shown = shownAt(view, s * 1000);
  return {
    stands: view.entries.filter(({ status }) => status === 'logged').map(({ entry }) => entry.code),
    strip:
      shown.kind === 'question'
        ? `asks ${shown.question.entries[0]?.code}`
        : shown.kind === 'logged' || shown.kind === 'struck'
          ? `${shown.kind} ${shown.entries.map(({ entry }) => entry.code).join('+')}`
          : shown.kind,
    lives: view.questions.map((question) => lifeOf(question, view, s * 1000)),
    open: openQuestions(view).length,
  };
}

const APGAR: Step = say(10, 'apgar nine');
const RUBIN: Step = say(10, 'rubin');

describe('the life of a question', () => {
  const TABLE: [what: string, steps: Step[], atS: number, expected: Partial<ReturnType<typeof told>>][] = [
    ['is asked', [APGAR], 12, { strip: 'asks apgar', lives: ['asked'], open: 1, stands: [] }],
    ['is asked until its time is up', [APGAR], 41.5, { lives: ['asked'] }],
    ['is then open, and counted', [APGAR], 41.7, { strip: 'empty', lives: ['open'], open: 1 }],
    [
      'is answered by voice with what was missing',
      [APGAR, say(15, 'apgar nine at five minutes')],
      18,
      { strip: 'logged apgar', lives: ['answered'], open: 0, stands: ['apgar'] },
    ],
    ['is answered by yes where words were in doubt', [RUBIN, say(15, 'yes')], 18, { lives: ['answered'] }],
    [
      'is answered by the clear words of one of its readings',
      [RUBIN, say(15, 'rubin two')],
      18,
      { lives: ['answered'], stands: ['rubin-2'] },
    ],
    [
      'is not answered by a yes whose speech began before it was on the strip',
      [RUBIN, say(11.2, 'yes')],
      14,
      { lives: ['asked'], stands: [] },
    ],
    [
      'is not answered by a yes after its time',
      [RUBIN, say(42, 'yes')],
      45,
      { lives: ['open'], stands: [], strip: 'empty' },
    ],
    [
      'is open as soon as something newer is on the strip',
      [RUBIN, say(14, 'head delivered')],
      16,
      { strip: 'logged head-delivered', lives: ['open'], open: 1 },
    ],
    [
      'is answered by a yes that began before the newer thing was on the strip',
      [RUBIN, logs(15.2, { code: 'push' }), say(15, 'yes')],
      18,
      { lives: ['answered'] },
    ],
    [
      'is not answered by a yes that began after it',
      [RUBIN, logs(14, { code: 'push' }), say(15, 'yes')],
      18,
      { lives: ['open'], stands: ['push'] },
    ],
    [
      'comes back by voice',
      [RUBIN, say(14, 'head delivered'), say(50, 'next question')],
      53,
      { strip: 'asks rubin-2', lives: ['asked'] },
    ],
    [
      'and is then answered',
      [RUBIN, say(14, 'head delivered'), say(50, 'next question'), say(55, 'yes')],
      58,
      { lives: ['answered'] },
    ],
    [
      'gives way to the other one, which goes the same way',
      [RUBIN, say(14, 'apgar nine'), say(20, 'next question')],
      23,
      { strip: 'asks rubin-2', lives: ['asked', 'open'], open: 2 },
    ],
    [
      'two of them: said again, it goes through both',
      [RUBIN, say(14, 'apgar nine'), say(20, 'next question'), say(25, 'next question')],
      28,
      { strip: 'asks apgar', lives: ['open', 'asked'] },
    ],
    [
      'two of them: yes answers the one on the strip and leaves the other',
      [say(10, 'apgar nine'), say(14, 'rubin'), say(20, 'yes')],
      23,
      { lives: ['open', 'answered'], open: 1 },
    ],
    ['with none open it says so', [say(10, 'next question')], 13, { strip: 'answer' }],
    ['is withdrawn by no', [RUBIN, say(15, 'no')], 18, { strip: 'withdrawn', lives: ['withdrawn'], open: 0 }],
    ['is withdrawn by undo', [RUBIN, say(15, 'undo')], 18, { strip: 'withdrawn', lives: ['withdrawn'] }],
    [
      'is asked again by an undo of that',
      [RUBIN, say(15, 'undo'), say(20, 'undo')],
      23,
      { strip: 'asks rubin-2', lives: ['asked'] },
    ],
    [
      'is settled by a touch while the voice speaks: the voice adds nothing',
      [
        RUBIN,
        {
          s: 15.5,
          touch: ({ view }) => [{ kind: 'reject', questionId: view.questions[0]!.questionId }],
        },
        say(15, 'yes'),
      ],
      18,
      { lives: ['withdrawn'], stands: [] },
    ],
  ];
  it.each(TABLE)('%s', (_what, steps, atS, expected) => {
    expect(told(play(steps), atS)).toMatchObject(expected);
  });
});

describe('undo', () => {
  const TABLE: [what: string, steps: Step[], atS: number, expected: Partial<ReturnType<typeof told>>][] = [
    [
      'withdraws the question on the strip and leaves the birth',
      [say(5, 'baby out'), APGAR, say(15, 'undo')],
      18,
      { stands: ['body-delivered'], lives: ['withdrawn'] },
    ],
    [
      'said when the question is no longer shown, asks about the birth that is',
      [say(5, 'baby out'), APGAR, say(60, 'undo')],
      63,
      { stands: ['body-delivered'], strip: 'asks body-delivered', lives: ['open', 'asked'] },
    ],
    [
      'strikes a landmark after a spoken yes, and says so',
      [say(5, 'baby out'), say(10, 'undo'), say(15, 'yes')],
      18,
      { stands: [], strip: 'struck body-delivered', open: 0 },
    ],
    [
      'leaves a landmark after a no',
      [say(5, 'head delivered'), say(10, 'undo'), say(15, 'no')],
      18,
      { stands: ['head-delivered'], strip: 'logged head-delivered', open: 0 },
    ],
    [
      'leaves a landmark where nobody answers, and counts the question',
      [say(5, 'head delivered'), say(10, 'undo')],
      80,
      { stands: ['head-delivered'], strip: 'logged head-delivered', open: 1 },
    ],
    [
      'a touched one asks, too',
      [say(5, 'head delivered'), undoTouch(10)],
      12,
      { stands: ['head-delivered'], strip: 'asks head-delivered' },
    ],
    [
      'that names a landmark asks, too',
      [say(5, 'head delivered'), say(10, 'push'), say(15, 'scratch head delivered')],
      18,
      { stands: ['head-delivered', 'push'], strip: 'asks head-delivered' },
    ],
    [
      'strikes what the strip showed when it began, not what came while it was spoken',
      [say(5, 'mcroberts on'), logs(10.5, { code: 'push' }), say(10, 'undo')],
      13,
      { stands: ['push'] },
    ],
    [
      'said twice before the strip could show it, strikes one entry and not two',
      [say(4, 'push'), say(8, 'mcroberts on'), say(12, 'undo', 3), say(14, 'undo', 3)],
      20,
      { stands: ['push'] },
    ],
    [
      'puts back what it struck, once that is shown',
      [say(8, 'mcroberts on'), say(12, 'undo'), say(16, 'undo')],
      19,
      { stands: ['mcroberts'] },
    ],
    [
      'takes back both call-outs of one breath',
      [say(8, 'mcroberts on and push'), say(12, 'undo')],
      15,
      { stands: [], strip: 'struck mcroberts+push' },
    ],
    [
      'of an answer to "time check" takes nothing back',
      [say(5, 'head delivered'), say(10, 'how long since the head'), say(14, 'undo')],
      17,
      { stands: ['head-delivered'], strip: 'answer' },
    ],
    [
      'leaves what a helper has changed since',
      [
        say(5, 'mcroberts on'),
        {
          s: 10.5,
          touch: (record) => [
            { kind: 'replace', entryId: record.idOf('mcroberts'), entry: { code: 'all-fours' } },
          ],
        },
        say(10, 'undo'),
      ],
      13,
      { stands: ['all-fours'] },
    ],
    [
      'during a pause strikes nothing that is not shown',
      [say(5, 'push'), say(8, 'pause'), say(12, 'undo')],
      15,
      { stands: ['push'], strip: 'paused' },
    ],
  ];
  it.each(TABLE)('%s', (_what, steps, atS, expected) => {
    expect(told(play(steps), atS)).toMatchObject(expected);
  });

  it('a correction turns a landmark into another act only after a yes', () => {
    const steps = [say(5, 'head delivered'), say(10, 'correction posterior arm out')];
    expect(told(play(steps), 13)).toMatchObject({
      stands: ['head-delivered'],
      strip: 'asks posterior-arm',
    });
    expect(told(play([...steps, say(15, 'yes')]), 18)).toMatchObject({ stands: ['posterior-arm'] });
    expect(told(play([...steps, say(15, 'no')]), 18)).toMatchObject({ stands: ['head-delivered'] });
  });
});

describe('a bare name', () => {
  const TABLE: [what: string, steps: Step[], atS: number, expected: Partial<ReturnType<typeof told>>][] = [
    [
      'of an arm is asked about, never logged: its end sounds alike',
      [say(10, 'posterior arm now')],
      13,
      { stands: [], strip: 'asks posterior-arm' },
    ],
    [
      'of what is under way asks what became of it; yes says nothing',
      [say(5, 'mcroberts on'), say(20, 'mcroberts'), say(25, 'yes')],
      28,
      { stands: ['mcroberts'], strip: 'asks mcroberts' },
    ],
    [
      'is settled by the call-out of its end, at that one’s own time',
      [say(5, 'mcroberts on'), say(20, 'mcroberts'), say(25, 'mcroberts off')],
      28,
      { stands: ['mcroberts', 'mcroberts'], lives: ['withdrawn'], open: 0 },
    ],
    ['of traction is a moment and asks nothing', [say(5, 'traction'), say(9, 'traction')], 12, { open: 0 }],
  ];
  it.each(TABLE)('%s', (_what, steps, atS, expected) => {
    expect(told(play(steps), atS)).toMatchObject(expected);
  });
});

describe('a pause', () => {
  it('shows a question that came during it as long as the voice may answer it, then the pause again', () => {
    const record = play([say(5, 'pause'), say(10, 'head delivered')]);
    expect(told(record, 13).strip).toBe('asks head-delivered');
    expect(told(record, 45).strip).toBe('paused');
    expect(told(play([say(5, 'pause'), say(10, 'resume')]), 13).strip).toBe('empty');
  });
});

describe('strip and voice', () => {
  it('never disagree: at every moment the voice answers exactly the question that the strip shows', () => {
    const record = play([
      APGAR,
      say(16, 'rubin'),
      say(22, 'push'),
      say(50, 'next question'),
      say(56, 'no'),
      say(60, 'pause'),
      say(64, 'suprapubic pressure'),
      say(100, 'resume'),
      say(105, 'next question'),
    ]);
    const { view } = record;
    let asked = 0;
    for (let ms = 0; ms < 160_000; ms += 100) {
      const shown = shownAt(view, ms);
      const onStrip = shown.kind === 'question' ? shown.question : null;
      expect(questionAsked(view, ms)).toBe(onStrip);
      expect(contextOf(view, ms, vocabulary).asking).toBe(onStrip !== null);
      if (shown.kind !== 'question') continue;
      asked += 1;
      expect(isOpenAt(shown.question, ms)).toBe(true);
      expect(shown.untilMs - shown.fromMs).toBe(SHOWN_FOR_MS);
      expect(ms).toBeGreaterThanOrEqual(shown.fromMs);
      expect(ms).toBeLessThanOrEqual(shown.untilMs);
    }
    expect(asked).toBeGreaterThan(300);
  });
});
