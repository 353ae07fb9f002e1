import fc from 'fast-check';
import { expect, it } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { lengthBetween, minutesSeconds } from '../../../src/core/facts/logged.ts';
import { runningClocks } from '../../../src/core/facts/running.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteFhir } from '../../../src/core/note/fhir.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { fromHead, timeText } from '../../../src/core/note/times.ts';
import { debrief } from '../../../src/core/practice/debrief.ts';
import type { Drill } from '../../../src/core/practice/drill.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { MadeRecord } from '../log/make-record.ts';
import { tableOf } from '../note/tables-of.ts';

const vocabulary = loadVocabulary();
const secondOfDay = (clock: string): number =>
  clock.split(':').reduce((sum, part) => sum * 60 + Number(part), 0);

/** The same length as every part that tells it gives it. */
function toldOf(record: MadeRecord, drill: Drill): Record<string, string> {
  const { file, view } = record;
  const [head, body] = ['head-delivered', 'body-delivered'].map((code) =>
    view.entries.find(({ entry }) => entry.code === code)!,
  );
  const facts = deriveFacts(view);
  const interval = facts.intervals.find(({ id }) => id === 'head-to-body')!;
  const note = buildNote(file, view, facts, vocabulary);
  const bundle = JSON.parse(noteFhir(note)) as {
    entry: { resource: { code?: { text?: string }; valueQuantity?: { value: number } } }[];
  };
  const exported = bundle.entry.find(({ resource }) => resource.code?.text === 'Head-to-body interval')!;
  const row = tableOf(note, 'entries.csv').find(({ code }) => code === 'body-delivered')!;
  const tabled = tableOf(note, 'intervals.csv').find((one) => one['interval'] === 'head-to-body')!;
  const printed = secondOfDay(timeText(view, body!.atMs)) - secondOfDay(timeText(view, head!.atMs));
  return {
    live: minutesSeconds(runningClocks(view, body!.atMs + 12_345).sinceHeadSeconds!),
    liveWhileItRan: minutesSeconds(
      runningClocks({ ...view, entries: [head!] }, body!.atMs).sinceHeadSeconds!,
    ),
    padAndList: lengthBetween(view, head!.atMs, body!.atMs),
    interval: interval.value.kind === 'known' ? minutesSeconds(interval.value.seconds) : interval.value.kind,
    noteLines: fromHead(view, body!.atMs),
    note: /^Head to body\s+([\d:]+)/m.exec(noteText(note))![1]!,
    csv: minutesSeconds(Number(row['from_head_seconds']!)),
    csvInterval: minutesSeconds(Number(tabled['length_seconds']!)),
    fhir: minutesSeconds(exported.resource.valueQuantity!.value),
    debrief: minutesSeconds(debrief(drill, view, vocabulary).headToBody.recordedSeconds!),
    printedTimes: minutesSeconds(printed),
  };
}

it('no two parts tell one length differently: live, pad, list, review, note, debrief, exports, printed times', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 0, max: 999 }),
      fc.integer({ min: 0, max: 1_800_000 }),
      fc.integer({ min: 0, max: 5_400_000 }),
      fc.option(fc.integer({ min: -500_000, max: 500_000 })),
      (beganMs, headMs, lengthMs, offsetMs) => {
        const wallMs = Date.UTC(2026, 2, 5, 14) + beganMs;
        const record = new MadeRecord({ startAt: new Date(wallMs).toISOString() });
        if (offsetMs !== null)
          record.append({ kind: 'helper' }, 0, {
            kind: 'clock-offset',
            roomMinusDeviceMs: offsetMs,
            against: 'wall clock',
          });
        record
          .called(headMs, 'head delivered', { code: 'head-delivered' })
          .called(headMs + lengthMs, 'baby out', { code: 'body-delivered' });
        const drill: Drill = {
          recordId: 'rec-1',
          way: 'live',
          scenarioId: 's',
          scenarioTitle: 's',
          startedAt: record.file.createdAt,
          truth: [],
        } as unknown as Drill;
        const told = toldOf(record, drill);
        expect(Object.keys(told)).toHaveLength(11);
        expect(new Set(Object.values(told)), JSON.stringify(told)).toHaveProperty('size', 1);
      },
    ),
    { numRuns: 150 },
  );
});
