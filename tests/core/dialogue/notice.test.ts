import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { noticeAt, NOTICE_MS } from '../../../src/core/dialogue/notice.ts';
import { takeIn } from '../../../src/core/dialogue/take-in.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { MadeRecord } from '../log/make-record.ts';

const vocabulary = loadVocabulary();
const TALK = join(import.meta.dirname, '../../../models/training');
const talk = ['talk.txt', 'talk-long.txt'].flatMap((file) =>
  readFileSync(join(TALK, file), 'utf8')
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#')),
);

function heard(record: MadeRecord, onsetMs: number, words: string, afterMs = 600): MadeRecord {
  const endMs = onsetMs + 1000;
  const said = { onsetMs, endMs, heard: { tuned: { text: words } } };
  const { bodies } = takeIn(said, record.view, vocabulary, record.newId);
  return record.append({ kind: 'voice' }, endMs + afterMs, ...bodies);
}

describe('words that nothing was logged of', () => {
  it(
    'are told of talk at most once a minute in an hour of it, all lines said one after the other',
    { timeout: 60_000 },
    () => {
      expect(talk.length).toBe(600);
      const EVERY_MS = 3_600_000 / talk.length;
      let record = new MadeRecord();
      let notices = 0;
      let unheard = 0;
      for (const [index, line] of talk.entries()) {
        // A record of its own every 50 lines: folding an hour anew for each line takes minutes.
        if (index % 50 === 0) record = new MadeRecord();
        const onsetMs = (index % 50) * EVERY_MS;
        heard(record, onsetMs, line);
        const { view } = record;
        if (view.utterances.at(-1)!.outcome === 'unrecognised') unheard += 1;
        if (noticeAt(view, onsetMs + 1700) !== null) notices += 1;
      }
      expect(unheard).toBeGreaterThan(550);
      // Measured: 35 in the hour. One a minute is the bound.
      expect(notices).toBeLessThanOrEqual(60);
      expect(notices).toBeGreaterThan(0);
    },
  );

  const told = (record: MadeRecord, ms: number) => noticeAt(record.view, ms)?.words ?? null;
  const MEANT = 'the shoulder of that gown';

  it('are told at once where they sound meant, and go', () => {
    const record = heard(new MadeRecord(), 10_000, MEANT);
    expect(told(record, 11_600)).toBe(MEANT);
    expect(told(record, 11_600 + NOTICE_MS)).toBe(MEANT);
    expect(told(record, 11_601 + NOTICE_MS)).toBeNull();
  });

  it('are never told later than two seconds after the speech', () => {
    expect(told(heard(new MadeRecord(), 10_000, MEANT, 2000), 13_000)).toBe(MEANT);
    expect(told(heard(new MadeRecord(), 10_000, MEANT, 2001), 13_100)).toBeNull();
  });

  it('are told from the first listening on, and no longer for being logged late', () => {
    const record = new MadeRecord();
    const first = { heard: MEANT, onsetMs: 10_000, endMs: 11_000, toldAtMs: 11_600 };
    expect(noticeAt(record.view, 11_700, first)).toEqual({ words: MEANT, fromMs: 11_600 });
    heard(record, 10_000, MEANT, 2800);
    expect(noticeAt(record.view, 13_900, first)).toEqual({ words: MEANT, fromMs: 11_600 });
    expect(noticeAt(record.view, 11_601 + NOTICE_MS, first)).toBeNull();
    // What another listening found is on the strip, and the line is gone.
    const found = heard(new MadeRecord(), 10_000, 'rubin', 1200);
    expect(noticeAt(found.view, 12_300, first)).toBeNull();
  });

  it('make way for what comes to the strip after them', () => {
    const record = heard(heard(new MadeRecord(), 10_000, MEANT), 11_700, 'head delivered');
    expect(told(record, 13_400)).toBeNull();
  });

  it('are told where they may be meant as an answer', () => {
    const record = heard(heard(new MadeRecord(), 10_000, 'apgar nine'), 15_000, 'at firemen it');
    expect(told(record, 16_700)).toBe('at firemen it');
    expect(told(heard(new MadeRecord(), 15_000, 'at firemen it'), 16_700)).toBeNull();
  });

  it('are not told during a pause, nor where speech was lost without words', () => {
    const record = new MadeRecord().append({ kind: 'helper' }, 9000, { kind: 'pause', atMs: 9000 });
    expect(told(heard(record, 10_000, MEANT), 11_700)).toBeNull();
    expect(told(heard(new MadeRecord(), 10_000, ''), 11_700)).toBeNull();
  });
});
