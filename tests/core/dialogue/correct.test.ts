import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { answerTo } from '../../../src/core/dialogue/asked.ts';
import { shownNow } from '../../../src/core/dialogue/shown.ts';
import { contextOf } from '../../../src/core/dialogue/take-in.ts';
import { undoOf } from '../../../src/core/dialogue/undo.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { at, MadeRecord } from '../log/make-record.ts';

const vocabulary = loadVocabulary();
const logged = (record: MadeRecord): Entry[] =>
  record.view.entries.filter(({ status }) => status === 'logged').map(({ entry }) => entry);
/** The words go through interpreter and log as in the app. */
function say(record: MadeRecord, atMs: number, words: string): MadeRecord {
  const meaning = interpret({ tuned: { text: words } }, contextOf(record.view, atMs, vocabulary), vocabulary);
  return record.said(atMs, words, meaning);
}
function after(...lines: [seconds: number, words: string][]): MadeRecord {
  const record = new MadeRecord();
  for (const [seconds, words] of lines) say(record, at(1, seconds), words);
  return record;
}

describe('correction', () => {
  it('that is itself a question replaces the entry once it is answered, and until then changes nothing', () => {
    const record = after([0, 'apgar nine at one'], [5, 'correction apgar eight']);
    expect(logged(record)).toEqual([{ code: 'apgar', score: 9, minute: 1 }]);
    const question = record.view.questions[0]!;
    expect(question).toMatchObject({
      problem: 'minute-missing',
      replaces: record.view.entries[0]!.entryId,
    });
    say(record, at(1, 9), 'apgar eight at one');
    expect(logged(record)).toEqual([{ code: 'apgar', score: 8, minute: 1 }]);
    const [entry] = record.view.entries;
    expect(entry!.atMs).toBe(at(1));
    expect(entry!.changes[0]).toMatchObject({ kind: 'replace', entry: { score: 9 } });
  });

  it('is answered by touch in the same way, and its answer can be undone', () => {
    const record = after([0, 'woods screw'], [5, 'correction rubin']);
    const question = record.view.questions[0]!;
    const chosen: Entry = { code: 'rubin-2' };
    record.append({ kind: 'helper' }, at(1, 8), ...answerTo(question, [chosen], () => 'unused'));
    expect(logged(record)).toEqual([chosen]);
    record.append(
      { kind: 'helper' },
      at(1, 9),
      ...undoOf(shownNow(record.view, at(1, 9)), record.view, () => 'unused', at(1, 9))!.bodies,
    );
    expect(logged(record)).toEqual([{ code: 'woods-screw' }]);
  });

  it('whose question is rejected leaves the entry as it was', () => {
    const record = after([0, 'woods screw'], [5, 'correction rubin'], [9, 'no']);
    expect(logged(record)).toEqual([{ code: 'woods-screw' }]);
    expect(record.view.questions[0]!.state).toBe('rejected');
  });

  it('of an entry that was struck out meanwhile brings it back with the right words', () => {
    const record = after([0, 'woods screw'], [5, 'correction rubin']);
    const { entryId } = record.view.entries[0]!;
    record.append({ kind: 'helper' }, at(1, 7), { kind: 'strike', entryId });
    // The strip shows what was struck out: the question is open and waits.
    say(record, at(1, 9), 'yes');
    expect(logged(record)).toEqual([]);
    say(record, at(1, 12), 'next question');
    say(record, at(1, 16), 'yes');
    expect(logged(record)).toEqual([{ code: 'rubin-2' }]);
  });

  it('of a question that is open takes its place; nothing else is replaced', () => {
    const record = after([0, 'head delivered'], [20, 'apgar nine'], [24, 'correction apgar eight']);
    expect(record.view.questions.map(({ state, replaces }) => [state, replaces])).toEqual([
      ['rejected', undefined],
      ['open', undefined],
    ]);
    say(record, at(1, 28), 'apgar eight at five');
    expect(logged(record).map(({ code }) => code)).toEqual(['head-delivered', 'apgar']);
  });

  it('without words asks for them; the same call-out again replaces, another one is logged beside', () => {
    const record = after([0, 'birth weight four kilos'], [5, 'correction']);
    expect(record.view.questions[0]).toMatchObject({ state: 'open', problem: 'value-missing' });
    say(record, at(1, 8), 'yes');
    expect(logged(record)).toEqual([{ code: 'birth-weight', grams: 4000 }]);
    say(record, at(1, 10), 'birth weight four point two kilos');
    expect(logged(record)).toEqual([{ code: 'birth-weight', grams: 4200 }]);
    const other = after([0, 'birth weight four kilos'], [5, 'correction'], [8, 'placenta out']);
    expect(logged(other).map(({ code }) => code)).toEqual(['birth-weight', 'placenta-delivered']);
    expect(other.view.questions[0]!.state).toBe('open');
    expect(after([0, 'correction']).view.questions).toEqual([]);
  });

  it('"no, the left" is about the newest entry with a side, not about what came between', () => {
    const record = after([0, 'suprapubic from the right'], [4, 'push'], [8, 'no the left']);
    expect(logged(record)).toEqual([{ code: 'suprapubic-pressure', side: 'left' }, { code: 'push' }]);
    const other = after([0, 'suprapubic from the right'], [5, 'no the other side']);
    expect(logged(other)).toEqual([{ code: 'suprapubic-pressure', side: 'left' }]);
  });

  it('with a spoken time moves the entry that its answer replaces', () => {
    const record = new MadeRecord();
    say(record, at(5), 'woods screw');
    say(record, at(5, 5), 'correction rubin one minute ago');
    say(record, at(5, 9), 'yes');
    expect(record.view.entries[0]).toMatchObject({ atMs: at(4, 5), estimated: true });
    expect(logged(record)).toEqual([{ code: 'rubin-2' }]);
  });

  it('survives export and import with the entry that it names', () => {
    const record = after([0, 'woods screw'], [5, 'correction rubin'], [9, 'yes']);
    expect(importRecord(exportRecord(record.file))).toMatchObject({ kind: 'ok', file: record.file });
  });
});
