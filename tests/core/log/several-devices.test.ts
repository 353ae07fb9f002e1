import { expect, test } from 'vitest';
import { settleBy } from '../../../src/core/log/clashes.ts';
import type { EventBody, LogEvent, RecordFile } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { arranged, rootOf, sealInRecord } from '../../../src/core/log/lanes.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import { verifyRecord } from '../../../src/core/log/chain.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';

const begun = createRecordFile({
  recordId: 'r',
  mode: 'real',
  wallMs: Date.UTC(2026, 2, 5, 14),
  createdAt: '2026-03-05T14:00:00.000+00:00',
  timeZone: 'Europe/London',
  writer: { lane: 'operator' },
});

/** A device that holds a copy of the record and writes in a lane of its own. */
class Device {
  file: RecordFile = begun;
  constructor(readonly lane: string) {}
  write(madeAtMs: number, ...bodies: EventBody[]): this {
    const made = { by: { kind: 'helper' }, madeAtMs, madeAt: 'x', writer: { lane: this.lane } } as const;
    this.file = {
      ...this.file,
      events: [...this.file.events, ...sealInRecord(this.file.events, bodies, made)],
    };
    return this;
  }
  pull(other: Device): this {
    const known = new Set(this.file.events.map(({ hash }) => hash));
    const fresh: LogEvent[] = other.file.events.filter(({ hash }) => !known.has(hash));
    this.file = arranged({ ...this.file, events: [...this.file.events, ...fresh] });
    return this;
  }
  get view() {
    return foldRecord(this.file);
  }
}

const entry = (entryId: string): EventBody => ({
  kind: 'entry',
  entryId,
  entry: { code: 'push' },
  atMs: 1000,
  timing: 'touch',
});
const replaced = (side: 'left' | 'right'): EventBody => ({
  kind: 'replace',
  entryId: 'e',
  entry: { code: 'suprapubic-pressure', side },
});

function two(): [Device, Device] {
  const a = new Device('operator').write(1000, entry('e'));
  const b = new Device('phone').pull(a);
  return [a, b];
}
function together(a: Device, b: Device): void {
  a.pull(b);
  b.pull(a);
  expect(rootOf(a.file.events)).toBe(rootOf(b.file.events));
  expect(a.view.entries).toEqual(b.view.entries);
  expect(verifyRecord(a.file)).toEqual({ kind: 'intact' });
}

test('two corrections of one entry that knew nothing of each other are a clash, the same on both devices', () => {
  const [a, b] = two();
  a.write(2000, replaced('left'));
  b.write(3000, replaced('right'));
  together(a, b);
  const [clash] = a.view.entries[0]!.clashes!;
  expect(clash!.of).toBe('content');
  expect(clash!.versions.map(({ lane }) => lane)).toEqual(['operator', 'phone']);
  expect(deriveFacts(a.view).conflicts.map(({ kind }) => kind)).toContain('apart');
});

test('who saw both and chose has settled it, whichever was chosen', () => {
  for (const chosen of [0, 1]) {
    const [a, b] = two();
    a.write(2000, replaced('left'));
    b.write(3000, replaced('right'));
    together(a, b);
    const version = a.view.entries[0]!.clashes![0]!.versions[chosen]!;
    a.write(4000, ...settleBy('e', version, false));
    together(a, b);
    expect(b.view.entries[0]!.clashes).toBeUndefined();
    expect(b.view.entries[0]!.entry.side).toBe(chosen === 0 ? 'left' : 'right');
  }
});

test('struck out here and corrected there is a clash; the same correction twice is none, nor one after the other', () => {
  const [a, b] = two();
  a.write(2000, { kind: 'strike', entryId: 'e' });
  b.write(3000, replaced('right'));
  together(a, b);
  expect(a.view.entries[0]!.clashes).toHaveLength(1);
  const strike = a.view.entries[0]!.clashes![0]!.versions[0]!;
  b.write(5000, ...settleBy('e', strike, a.view.entries[0]!.status === 'struck'));
  together(a, b);
  expect(a.view.entries[0]).toMatchObject({ status: 'struck' });
  expect(a.view.entries[0]!.clashes).toBeUndefined();

  const [c, d] = two();
  c.write(2000, replaced('left'));
  d.write(3000, replaced('left'));
  together(c, d);
  expect(c.view.entries[0]!.clashes).toBeUndefined();
  c.write(4000, replaced('right'));
  together(c, d);
  d.write(5000, replaced('left'));
  together(c, d);
  expect(c.view.entries[0]!.clashes).toBeUndefined();
});

test('times moved apart are a clash of the time, not of the content', () => {
  const [a, b] = two();
  a.write(2000, { kind: 'shift', entryId: 'e', atMs: 500 });
  b.write(3000, { kind: 'shift', entryId: 'e', atMs: 700 });
  together(a, b);
  expect(a.view.entries[0]!.clashes!.map(({ of }) => of)).toEqual(['time']);
});

test('what a signer had not seen stands behind the signature, even where it is timed before', () => {
  const [a, b] = two();
  b.write(1500, entry('late'));
  a.write(9000, { kind: 'sign', name: 'A. Sample', role: 'midwife', statement: 'as seen' });
  const atSigning = rootOf(a.file.events);
  together(a, b);
  const { signatures, entries } = a.view;
  expect(entries.find(({ entryId }) => entryId === 'late')!.history[0]).toBeGreaterThan(signatures[0]!.seq);
  // The head that a print made at signing carries is that of the events up to the signature.
  expect(rootOf(a.file.events.slice(0, signatures[0]!.seq + 1))).toBe(atSigning);
});

test('spans that devices began after a restart are told by the events, in one order', () => {
  const [a, b] = two();
  b.write(2000, { kind: 'continued', spanId: 1, atMs: 2000, wallMs: 99, gapKnownFrom: 'device-clock' });
  together(a, b);
  expect(a.file.spans).toEqual([begun.spans[0], { spanId: 1, startMs: 2000, wallMs: 99 }]);
});
