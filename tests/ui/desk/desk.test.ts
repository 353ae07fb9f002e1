import { expect, test, vi } from 'vitest';
import type { RunningRecord } from '../../../src/app/running-record.svelte.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { sealEvents } from '../../../src/core/log/chain.ts';
import { Desk } from '../../../src/ui/desk/desk.svelte.ts';
import { fullBirth } from '../../browser/desk-fixtures.ts';

/** A record whose device answers when the test lets it. */
function slowRecord() {
  let file = fullBirth('slow');
  let letGo: () => void = () => {};
  const made = {
    by: { kind: 'reviewer' },
    madeAtMs: 400_000,
    madeAt: '2026-10-14T13:46:40.000+01:00',
  } as const;
  const append = vi.fn(async (bodies: EventBody[]) => {
    await new Promise<void>((resolve) => (letGo = resolve));
    const events = sealEvents(file.events.at(-1)!, bodies, made);
    file = { ...file, events: [...file.events, ...events] };
    return events;
  });
  const record = {
    append,
    get view() {
      return foldRecord(file);
    },
  };
  return { record: record as unknown as RunningRecord, append, letGo: () => letGo() };
}

const cry = (entryId: string): EventBody[] => [
  { kind: 'entry', entryId, entry: { code: 'cry' }, atMs: 1000, timing: 'touch' },
];

test('a touch that comes twice while the device still writes is one touch', async () => {
  const { record, append, letGo } = slowRecord();
  const desk = new Desk(record, { kind: 'reviewer' });
  const first = desk.act(cry('a'), 'Logged: Cry.');
  expect(await desk.act(cry('b'), 'Logged: Cry.')).toBe(false);
  letGo();
  expect(await first).toBe(true);
  expect(append).toHaveBeenCalledTimes(1);
  const again = desk.act(cry('c'), 'Logged: Cry.');
  letGo();
  expect(await again).toBe(true);
  expect(desk.view.entries.filter(({ entry }) => entry.code === 'cry')).toHaveLength(2);
});

test('what could not be kept is said, and nothing is called done', async () => {
  const desk = new Desk(
    {
      append: () => Promise.reject(new Error('The device is full. Nothing was lost.')),
      view: foldRecord(fullBirth('x')),
    } as unknown as RunningRecord,
    { kind: 'reviewer' },
  );
  expect(await desk.act(cry('a'), 'Logged: Cry.')).toBe(false);
  expect(desk.error).toBe('The device is full. Nothing was lost.');
  expect(desk.last).toBeNull();
});

test('on a signed record an act waits for its reason and follows the amendment', async () => {
  const { record, append, letGo } = slowRecord();
  const desk = new Desk(record, { kind: 'reviewer' });
  const signed = desk.sign('Invented One', 'midwife', 'read', 'Signed.');
  letGo();
  await signed;
  expect(await desk.act(cry('a'), 'Logged: Cry.')).toBe(false);
  expect(append).toHaveBeenCalledTimes(1);
  const amended = desk.amend('late result');
  letGo();
  expect(await amended).toBe(true);
  expect(append.mock.calls[1]![0].map(({ kind }) => kind)).toEqual(['amend', 'entry']);
});
