import { describe, expect, it } from 'vitest';
import { sealEvents, type Made } from '../../../src/core/log/chain.ts';
import type { EventBody, LogEvent, RecordFile } from '../../../src/core/log/events.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import { rootOf } from '../../../src/core/log/lanes.ts';
import { closingOf, closingText, type Closing } from '../../../src/core/log/closing.ts';
import { judgeSeal } from '../../../src/core/log/seal.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { readForSeal } from '../../../src/core/record/read-for-seal.ts';
import { checkSignature, signWith, toBase64url } from '../../../src/store/signature.ts';
import { signed, type DeviceWriter } from '../../../src/store/device-key.ts';

const CREATED = '2026-03-05T14:00:00.000+00:00';
const entry = (entryId: string, code: string, slots: object = {}): EventBody => ({
  kind: 'entry',
  entryId,
  entry: { code, ...slots },
  atMs: 1000,
  timing: 'touch',
});

async function newDevice(lane: string): Promise<DeviceWriter & { publicKey: string }> {
  const pair = (await crypto.subtle.generateKey('Ed25519', true, ['sign', 'verify'])) as CryptoKeyPair;
  const publicKey = toBase64url(new Uint8Array(await crypto.subtle.exportKey('raw', pair.publicKey)));
  return { writer: { lane, device: { publicKey } }, sign: signWith(pair.privateKey), publicKey };
}

async function add(file: RecordFile, device: DeviceWriter, ...bodies: EventBody[]): Promise<RecordFile> {
  const made: Made = { by: { kind: 'voice' }, madeAtMs: 5, madeAt: CREATED, writer: device.writer };
  const events = await signed(sealEvents(file.events.at(-1) ?? null, bodies, made), device);
  return { ...file, events: [...file.events, ...events] };
}

async function newRecord(device: DeviceWriter): Promise<RecordFile> {
  const { writer } = device;
  const file = createRecordFile({
    recordId: 'r-1',
    mode: 'real',
    wallMs: 0,
    createdAt: CREATED,
    timeZone: 'Europe/London',
    writer,
  });
  return { ...file, events: await signed(file.events, device) };
}

async function exported(file: RecordFile, device: DeviceWriter & { publicKey: string }): Promise<string> {
  const closing = closingOf(file, undefined, device.publicKey);
  const signature = await device.sign!(closingText(file.recordId, closing));
  return exportRecord(file, { ...closing, signature });
}

async function judged(text: string, head?: string) {
  const read = readForSeal(text);
  if (read.kind !== 'record') throw new Error(read.kind);
  return judgeSeal(read.file, read.closing, checkSignature, head === undefined ? {} : { head });
}

const change = (text: string, alter: (file: RecordFile & { closing?: Closing }) => void): string => {
  const file = JSON.parse(text) as RecordFile & { closing?: Closing };
  alter(file);
  return JSON.stringify(file);
};

/** Seals every event again from a place on, as somebody would who has the file and no key of its device. */
function sealedAgain(
  file: RecordFile,
  alter: (body: EventBody) => EventBody,
  writer: Made['writer'],
): LogEvent[] {
  const events: LogEvent[] = [];
  for (const event of file.events) {
    const {
      seq: _s,
      hash: _h,
      previousHash: _p,
      signature: _g,
      lane: _l,
      laneSeq: _n,
      after: _a,
      device: _d,
      by,
      madeAtMs,
      madeAt,
      ...body
    } = event;
    events.push(
      ...sealEvents(events.at(-1) ?? null, [alter(body as EventBody)], { by, madeAtMs, madeAt, writer }),
    );
  }
  return events;
}

describe('the seal of a record', async () => {
  const device = await newDevice('aaaa');
  const other = await newDevice('bbbb');
  const begun = await newRecord(device);
  const file = await add(
    begun,
    device,
    entry('e1', 'head-delivered'),
    entry('e2', 'suprapubic-pressure', { side: 'left' }),
    entry('e3', 'body-delivered'),
    { kind: 'sign', name: 'A', role: 'B', statement: 'C' },
  );
  const text = await exported(file, device);

  it('as exported; import takes it', async () => {
    expect(await judged(text)).toMatchObject({ kind: 'as-exported', events: 5, head: rootOf(file.events) });
    expect(importRecord(text)).toEqual({ kind: 'ok', file: expect.objectContaining({ version: 2 }) });
  });

  it('a tail cut off is told: by the closing, and without it by its absence', async () => {
    const cut = change(text, (f) => void f.events.splice(3));
    expect(await judged(cut)).toMatchObject({ kind: 'shortened' });
    expect(importRecord(cut).kind).toBe('refused');
    const bare = change(text, (f) => {
      f.events.splice(3);
      delete f.closing;
    });
    expect(await judged(bare)).toMatchObject({ kind: 'shortened' });
    expect(importRecord(bare).kind).toBe('refused');
  });

  it('a tail cut off under a closing made to fit is told by the signature of the closing', async () => {
    const fitted = change(text, (f) => {
      f.events.splice(3);
      f.closing!.events = 3;
      f.closing!.head = f.events.at(-1)!.hash;
    });
    expect(await judged(fitted)).toMatchObject({ kind: 'changed' });
  });

  it('left turned to right is told, sealed again or not', async () => {
    const turned = change(text, (f) =>
      Object.assign((f.events[2] as { entry: object }).entry, { side: 'right' }),
    );
    expect(await judged(turned)).toMatchObject({ kind: 'changed', event: 'aaaa:2' });
    const turn = (body: EventBody): EventBody =>
      body.kind === 'entry' && body.entry.side ? { ...body, entry: { ...body.entry, side: 'right' } } : body;
    const events = sealedAgain(file, turn, device.writer);
    const keyless = {
      ...file,
      events: events.map((event) => ({ ...event, signature: file.events[event.seq]!.signature! })),
    };
    expect(await judged(exportRecord(keyless))).toMatchObject({ kind: 're-sealed' });
    const unsigned = { ...file, events };
    expect(await judged(exportRecord(unsigned))).toMatchObject({ kind: 'changed' });
  });

  it('sealed again under a key of its own it agrees with itself, and only an earlier head tells', async () => {
    const events = await signed(
      sealedAgain(file, (body) => body, other.writer),
      other,
    );
    const forged = await exported({ ...file, events }, other);
    expect(await judged(forged)).toMatchObject({
      kind: 'as-exported',
      writers: [{ publicKey: other.publicKey }],
    });
    expect(await judged(forged, rootOf(file.events))).toMatchObject({ kind: 're-sealed' });
  });

  it('an earlier head is found in what was added to since', async () => {
    const head = rootOf(file.events);
    const more = await add(file, device, { kind: 'amend', reason: 'x' });
    expect(await judged(await exported(more, device), head)).toMatchObject({
      kind: 'as-exported',
      addedSinceHead: 1,
    });
    const onOther = await add(file, other, { kind: 'amend', reason: 'x' });
    expect(await judged(await exported(onOther, other), head)).toMatchObject({
      kind: 'as-exported',
      addedSinceHead: 1,
    });
    expect(await judged(await exported(begun, device), head)).toMatchObject({ kind: 're-sealed' });
  });

  it('a closing by a device that wrote nothing is told', async () => {
    expect(await judged(await exported(file, other))).toMatchObject({ kind: 're-sealed' });
  });

  it('a record of version 1 is not signed; what is added to it leaves its chain as it was', async () => {
    const made = { by: { kind: 'voice' }, madeAtMs: 5, madeAt: CREATED } as const;
    const head = { recordId: 'r-1', createdAt: CREATED, timeZone: 'Europe/London', span: begun.spans[0]! };
    const [first] = [{ kind: 'begin', mode: 'real', record: head } as const];
    const old: RecordFile = { ...begun, version: 1, events: [] };
    // Sealed as version 1 did: the number is part of what is sealed, and there is no lane.
    const { hashOf, NO_EVENT_HASH } = await import('../../../src/core/log/chain.ts');
    const open = { ...first, seq: 0, ...made, previousHash: NO_EVENT_HASH };
    old.events.push({ ...open, hash: hashOf(open as LogEvent) } as LogEvent);
    expect(importRecord(exportRecord(old))).toMatchObject({ kind: 'ok', file: { version: 1 } });
    expect(await judged(exportRecord(old))).toMatchObject({ kind: 'not-signed' });
    const longer = await add(old, device, entry('e1', 'push'));
    const out = await exported(longer, device);
    expect(importRecord(out)).toMatchObject({
      kind: 'ok',
      file: { version: 2, events: [old.events[0], { lane: 'aaaa' }] },
    });
    expect(await judged(out)).toMatchObject({ kind: 'as-exported', addedSinceHead: null });
    expect(await judged(out, old.events[0]!.hash)).toMatchObject({ kind: 'as-exported', addedSinceHead: 1 });
  });
});
