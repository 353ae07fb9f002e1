import fc from 'fast-check';
import { expect, test } from 'vitest';
import { canonicalJson } from '../../../src/core/log/canonical.ts';
import { eventName, sealEvents } from '../../../src/core/log/chain.ts';
import type { EventBody, LogEvent, RecordFile } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { laneHeads, mergeLanes } from '../../../src/core/log/lanes.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';

/** Four devices that write while apart and sometimes pull all that another has. */
type Step =
  | { kind: 'write'; device: number; what: number; clockMs: number; target: number }
  | { kind: 'pull'; from: number; to: number };

const device = fc.nat(3);
const write = fc.record({
  kind: fc.constant('write' as const),
  device,
  what: fc.nat(6),
  clockMs: fc.integer({ min: -2000, max: 2000 }),
  target: fc.nat(30),
});
const pull = fc.record({ kind: fc.constant('pull' as const), from: device, to: device });
const history: fc.Arbitrary<Step[]> = fc.array(
  fc.oneof({ weight: 3, arbitrary: write }, { weight: 2, arbitrary: pull }),
  {
    minLength: 1,
    maxLength: 60,
    size: 'max',
  },
);

const begun = createRecordFile({
  recordId: 'r',
  mode: 'real',
  wallMs: 0,
  createdAt: '2026-01-01T00:00:00.000+00:00',
  timeZone: 'Europe/London',
  writer: { lane: 'L0' },
});

function body(what: number, id: string, target: string): EventBody {
  if (what <= 2) return { kind: 'entry', entryId: id, entry: { code: 'push' }, atMs: 0, timing: 'touch' };
  if (what === 3) return { kind: 'strike', entryId: target };
  if (what === 4) return { kind: 'restore', entryId: target };
  if (what === 5) return { kind: 'replace', entryId: target, entry: { code: 'mcroberts', phase: 'start' } };
  return { kind: 'field', field: 'reference', value: id };
}

/** Plays a history; returns every event that any device holds. */
function played(steps: readonly Step[]): LogEvent[] {
  const holdings = [0, 1, 2, 3].map(
    () => new Map<string, LogEvent>([[begun.events[0]!.hash, begun.events[0]!]]),
  );
  const entryIds: string[] = [];
  let nowMs = 0;
  for (const [index, step] of steps.entries()) {
    if (step.kind === 'pull') {
      for (const [hash, event] of holdings[step.from]!) holdings[step.to]!.set(hash, event);
      continue;
    }
    nowMs += 500;
    const own = holdings[step.device]!;
    const { events } = mergeLanes(own.values(), { trusted: true });
    const lane = `L${step.device}`;
    const mine = events.findLast((event) => event.lane === lane) ?? null;
    const id = `e${index}`;
    const target = entryIds[step.target % Math.max(1, entryIds.length)] ?? id;
    if (step.what <= 2) entryIds.push(id);
    const heads = laneHeads(events);
    const made = {
      by: { kind: 'helper' },
      madeAtMs: nowMs + step.clockMs,
      madeAt: 'x',
      writer: { lane },
    } as const;
    const last = mine ?? events.at(-1)!;
    const seen = Object.entries(heads)
      .filter(([other]) => other !== lane)
      .map(([, hash]) => hash);
    const [event] = sealEvents(last, [body(step.what, id, target)], { ...made, after: seen });
    own.set(event!.hash, event!);
  }
  return [...new Map(holdings.flatMap((own) => [...own])).values()];
}

const viewOf = (events: LogEvent[]) => canonicalJson(foldRecord({ ...begun, events } as RecordFile));

test('one order, one root and one view for 3,000 histories, shuffled and doubled; every altered event is found', () => {
  fc.assert(
    fc.property(history, fc.infiniteStream(fc.nat()), (steps, numbers) => {
      const all = played(steps);
      const shuffled = [...all, ...all.slice(0, 5)]
        .map((event) => ({ event: structuredClone(event), at: numbers.next().value as number }))
        .sort((a, b) => a.at - b.at)
        .map(({ event }) => event);
      const [straight, mixed] = [mergeLanes(all), mergeLanes(shuffled)];
      expect(straight.faults).toEqual([]);
      expect(straight.waiting).toEqual([]);
      expect(straight.events).toHaveLength(all.length);
      expect(mixed.events.map(eventName)).toEqual(straight.events.map(eventName));
      expect(mixed.root).toBe(straight.root);
      expect(viewOf(mixed.events)).toBe(viewOf(straight.events));
      const place = new Map(straight.events.map((event) => [event.hash, event.seq]));
      for (const event of straight.events)
        for (const cause of event.after ?? []) expect(place.get(cause)!).toBeLessThan(event.seq);
      const victim = (numbers.next().value as number) % all.length;
      const altered = all.map((event, at) =>
        at === victim ? { ...event, madeAtMs: event.madeAtMs + 1 } : event,
      );
      expect(mergeLanes(altered).faults).toEqual([{ event: eventName(all[victim]!), kind: 'changed' }]);
    }),
    { numRuns: Number(process.env['UTTERLOG_HISTORIES'] ?? 400) },
  );
}, 240_000);

test('the same name with other content is told as written twice', () => {
  const made = { by: { kind: 'helper' }, madeAtMs: 1, madeAt: 'x' } as const;
  const [one] = sealEvents(begun.events[0]!, [body(0, 'a', 'a')], made);
  const [two] = sealEvents(begun.events[0]!, [body(0, 'b', 'b')], made);
  expect(mergeLanes([begun.events[0]!, one!, two!]).faults).toEqual([
    { event: 'L0:1', kind: 'written-twice' },
  ]);
});

test('what is here before its cause waits', () => {
  const made = { by: { kind: 'helper' }, madeAtMs: 1, madeAt: 'x' } as const;
  const [one, two] = sealEvents(begun.events[0]!, [body(0, 'a', 'a'), body(0, 'b', 'b')], made);
  const merged = mergeLanes([two!, begun.events[0]!]);
  expect(merged.waiting).toEqual([two]);
  expect(mergeLanes([two!, begun.events[0]!, one!]).events).toHaveLength(3);
});
