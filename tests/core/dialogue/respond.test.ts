import { describe, expect, it } from 'vitest';
import type { Interpretation } from '../../../src/core/interpret/interpretation.ts';
import { questionAsked } from '../../../src/core/dialogue/asked.ts';
import { at, MadeRecord } from '../log/make-record.ts';

const accept = (...entries: { code: string }[]): Interpretation => ({ outcome: 'accept', entries });
const command = (code: 'undo' | 'correct' | 'confirm' | 'reject', entries: { code: string }[] = []) =>
  ({ outcome: 'command', entries, command: { code } }) as Interpretation;
const logged = (record: MadeRecord) => record.view.entries.filter((e) => e.status === 'logged');
const codes = (record: MadeRecord) => logged(record).map((e) => e.entry.code);

describe('respond', () => {
  it('logs a clear call-out at the onset of its speech, after the utterance', () => {
    const record = new MadeRecord().called(at(1, 2.5), 'head delivered', { code: 'head-delivered' });
    expect(record.file.events.map((e) => e.kind)).toEqual(['begin', 'utterance', 'entry']);
    expect(logged(record)[0]).toMatchObject({
      atMs: 62_500,
      timing: 'heard',
      estimated: false,
      addedLater: false,
    });
    expect(record.view.utterances[0]!.entryIds).toEqual([logged(record)[0]!.entryId]);
  });

  it('puts a spoken offset before the onset and marks the time as estimated', () => {
    const record = new MadeRecord().said(at(2), 'head delivered thirty seconds ago', {
      ...accept({ code: 'head-delivered' }),
      when: { agoSeconds: 30 },
    } as Interpretation);
    expect(logged(record)[0]).toMatchObject({ atMs: at(1, 30), timing: 'spoken-ago', estimated: true });
  });

  it('reads a spoken clock in the zone of the record and through the room clock', () => {
    const record = new MadeRecord({ startAt: '2026-07-05T13:00:00Z' });
    record.append({ kind: 'helper' }, 0, {
      kind: 'clock-offset',
      roomMinusDeviceMs: 120_000,
      against: 'wall clock',
    });
    record.said(at(10), 'head delivered at two oh five', {
      ...accept({ code: 'head-delivered' }),
      when: { clock: '02:05' },
    } as Interpretation);
    // 13:00 UTC is 14:00 in London in July; 14:05 in the room is 14:03 on the device.
    expect(logged(record)[0]).toMatchObject({ atMs: at(3), timing: 'spoken-clock', estimated: true });
  });

  it.each(['14:30', '09:05', '25:00', 'noon'])(
    'asks where the spoken clock %s is no minute just gone',
    (clock) => {
      const record = new MadeRecord().said(at(10), 'head', {
        ...accept({ code: 'head-delivered' }),
        when: { clock },
      } as Interpretation);
      expect(codes(record)).toEqual([]);
      expect(record.view.questions[0]).toMatchObject({ problem: 'time-unclear', state: 'open' });
      expect(record.view.utterances[0]!.outcome).toBe('ask');
    },
  );

  it('asks when clocks going back give a spoken minute two meanings', () => {
    // Europe/London, 25 October 2026: 01:30 happens at 00:30 and at 01:30 UTC.
    const record = new MadeRecord({ startAt: '2026-10-25T01:40:00Z' }).said(at(1), 'head', {
      ...accept({ code: 'head-delivered' }),
      when: { clock: '01:30' },
    } as Interpretation);
    expect(record.view.questions[0]!.problem).toBe('time-unclear');
  });

  it('keeps an unrecognised utterance and logs nothing', () => {
    const record = new MadeRecord().said(at(1), 'mumble', { outcome: 'unrecognised', entries: [] });
    expect(record.file.events.map((e) => e.kind)).toEqual(['begin', 'utterance']);
  });

  it('logs an answered question at the time of the question, and takes only one answer', () => {
    const record = new MadeRecord().said(at(1), 'rubin', {
      outcome: 'ask',
      entries: [{ code: 'rubin-2', unclear: true }],
      problem: 'unclear',
    });
    record.command(at(1, 5), 'yes', 'confirm').command(at(1, 8), 'yes', 'confirm');
    expect(logged(record)).toHaveLength(1);
    expect(logged(record)[0]).toMatchObject({
      atMs: at(1),
      entry: { code: 'rubin-2' },
      by: { kind: 'voice' },
      confirmedBy: { kind: 'voice' },
    });
    expect(logged(record)[0]!.entry.unclear).toBeUndefined();
  });

  it('takes no bare yes for a missing minute, nor long after the question', () => {
    const apgar: Interpretation = {
      outcome: 'ask',
      entries: [{ code: 'apgar', score: 9 }],
      problem: 'minute-missing',
    };
    const missing = new MadeRecord().said(at(1), 'apgar nine', apgar).command(at(1, 4), 'yes', 'confirm');
    expect(codes(missing)).toEqual([]);
    expect(missing.view.questions[0]!.state).toBe('open');
    const late = new MadeRecord().said(at(1), 'rubin', { ...apgar, problem: 'unclear' });
    expect(questionAsked(late.view, at(1, 20))).not.toBeNull();
    expect(questionAsked(late.view, at(2))).toBeNull();
    expect(codes(late.command(at(2), 'yes', 'confirm'))).toEqual([]);
  });

  it('closes a question when the same call-out comes again with its missing part', () => {
    const asked: Interpretation = {
      outcome: 'ask',
      entries: [{ code: 'cord-gas', ph: 7.15 }],
      problem: 'vessel-missing',
    };
    const same = new MadeRecord().said(at(9), 'cord ph seven one five', asked);
    same.called(at(9, 6), 'arterial', { code: 'cord-gas', vessel: 'arterial', ph: 7.15 });
    expect(same.view.questions[0]!.state).toBe('confirmed');
    expect(logged(same)).toHaveLength(1);
    const other = new MadeRecord().said(at(9), 'cord ph seven one five', asked);
    other.called(at(9, 6), 'venous', { code: 'cord-gas', vessel: 'venous', ph: 7.25 });
    expect(other.view.questions[0]!.state).toBe('open');
    expect(codes(other)).toEqual(['cord-gas']);
  });

  it('undo strikes the newest entry, or the newest of the named code, or drops the newer question', () => {
    const record = new MadeRecord()
      .called(at(1), 'head out', { code: 'head-delivered' })
      .called(at(2), 'mcroberts', { code: 'mcroberts', phase: 'start' });
    expect(codes(record.command(at(2, 5), 'scratch that', 'undo'))).toEqual(['head-delivered']);
    record.called(at(3), 'push', { code: 'push' }).said(at(3, 5), 'scratch head delivered', {
      outcome: 'command',
      entries: [],
      command: { code: 'undo', target: 'head-delivered' },
    });
    // A landmark goes only after a yes.
    expect(codes(record)).toEqual(['head-delivered', 'push']);
    record.command(at(3, 9), 'yes', 'confirm');
    expect(codes(record)).toEqual(['push']);
    record.said(at(4), 'rubin', { outcome: 'ask', entries: [{ code: 'rubin-2' }], problem: 'unclear' });
    record.command(at(4, 4), 'scratch that', 'undo');
    expect(codes(record)).toEqual(['push']);
    expect(record.view.questions.map(({ state }) => state)).toEqual(['confirmed', 'rejected']);
  });

  it('a correction replaces the newest entry of its code, keeps the time, and answers an open question', () => {
    const record = new MadeRecord()
      .called(at(1), 'suprapubic from the right', { code: 'suprapubic-pressure', side: 'right' })
      .called(at(1, 3), 'push', { code: 'push' })
      .said(
        at(1, 6),
        'no the left',
        command('correct', [{ code: 'suprapubic-pressure', side: 'left' } as never]),
      );
    expect(logged(record)[0]).toMatchObject({ atMs: at(1), entry: { side: 'left' } });
    expect(logged(record)[0]!.changes[0]).toMatchObject({ kind: 'replace', entry: { side: 'right' } });
    expect(codes(record)).toEqual(['suprapubic-pressure', 'push']);
    record.said(at(2), 'rubin', { outcome: 'ask', entries: [{ code: 'rubin-2' }], problem: 'unclear' });
    record.said(at(2, 3), 'no, woods', command('correct', [{ code: 'woods-screw' }]));
    expect(codes(record)).toEqual(['suprapubic-pressure', 'push', 'woods-screw']);
    expect(record.view.questions[0]!.state).toBe('confirmed');
  });

  it('never turns call-outs into a drill by a word, and never a drill into a birth', () => {
    const drill: Interpretation = { outcome: 'command', entries: [], command: { code: 'drill-begin' } };
    expect(new MadeRecord().said(at(0, 5), 'begin drill', drill).view.mode).toBe('practice');
    const real = new MadeRecord().called(at(1), 'head out', { code: 'head-delivered' });
    expect(real.said(at(2), 'begin drill', drill).view.mode).toBe('real');
    const practice = new MadeRecord({ mode: 'practice' });
    practice.append({ kind: 'system' }, at(1), { kind: 'begin', mode: 'real' });
    expect(practice.view.mode).toBe('practice');
  });

  it('asks for the time and read-back leave the utterance alone', () => {
    const record = new MadeRecord();
    for (const code of ['elapsed', 'clock', 'read-back'] as const) {
      record.said(at(1), code, { outcome: 'command', entries: [], command: { code } });
    }
    expect(record.file.events.map((e) => e.kind)).toEqual(['begin', 'utterance', 'utterance', 'utterance']);
  });

  it('finish, begin, pause and resume change the state once', () => {
    const record = new MadeRecord();
    const say = (code: 'finish' | 'begin' | 'pause' | 'resume', seconds: number) =>
      record.said(at(1, seconds), code, { outcome: 'command', entries: [], command: { code } });
    say('pause', 0);
    say('pause', 5);
    expect(record.view.paused).toBe(true);
    say('resume', 10);
    expect(record.view.interruptions).toEqual([{ kind: 'paused', fromMs: at(1), toMs: at(1, 10) }]);
    say('finish', 20);
    expect(record.view.finishedAtMs).toBe(at(1, 20));
    record.called(at(1, 25), 'cry', { code: 'cry' });
    expect(record.view.entries[0]!.addedLater).toBe(true);
    say('begin', 30);
    expect(record.view.finishedAtMs).toBeNull();
  });
});
