import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { canonicalJson } from '../../../src/core/log/canonical.ts';
import { sealEvents, verifyChain, verifyRecord } from '../../../src/core/log/chain.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { at, MadeRecord } from './make-record.ts';

const record = () =>
  new MadeRecord()
    .called(at(1), 'head out', { code: 'head-delivered' })
    .called(at(2), 'mcroberts', { code: 'mcroberts', phase: 'start' })
    .called(at(3), 'baby out', { code: 'body-delivered' });

describe('the hash chain', () => {
  it('holds for a record as it was written, and after a journey through JSON', () => {
    const { file } = record();
    expect(verifyRecord(file)).toEqual({ kind: 'intact' });
    expect(verifyRecord(JSON.parse(JSON.stringify(file)))).toEqual({ kind: 'intact' });
  });

  it('is SHA-256 over the canonical JSON of the event', async () => {
    // Where an event stands in the order is worked out, not sealed.
    const { hash, seq: _place, ...rest } = record().file.events[1]!;
    const bytes = new TextEncoder().encode(canonicalJson(rest));
    const digest = await crypto.subtle.digest('SHA-256', bytes);
    expect(Buffer.from(digest).toString('hex')).toBe(hash);
  });

  it('names the first event that was changed, left out or moved', () => {
    const { file } = record();
    const changed = structuredClone(file);
    Object.assign(changed.events[2]!, { atMs: 1 });
    expect(verifyChain(changed.events)).toMatchObject({ kind: 'broken', seq: 2 });
    const cut = file.events.filter((e) => e.seq !== 3);
    expect(verifyChain(cut)).toMatchObject({ kind: 'broken', seq: 3 });
    expect(verifyChain([...file.events].reverse())).toMatchObject({ kind: 'broken', seq: 0 });
  });

  it('covers the head of the file', () => {
    const { file } = record();
    expect(verifyRecord({ ...file, timeZone: 'Asia/Tokyo' })).toMatchObject({ kind: 'broken' });
    expect(verifyRecord({ ...file, spans: [{ ...file.spans[0]!, wallMs: 0 }] })).toMatchObject({
      kind: 'broken',
    });
  });

  it('covers a clock span that a restart began', () => {
    const made = record();
    const span = { spanId: 1, startMs: at(10), wallMs: Date.parse('2026-03-05T14:10:03Z') };
    const { startMs: atMs, wallMs, spanId } = span;
    made.append({ kind: 'system' }, atMs, {
      kind: 'continued',
      spanId,
      atMs,
      wallMs,
      gapKnownFrom: 'device-clock',
    });
    made.file = { ...made.file, spans: [...made.file.spans, span] };
    expect(verifyRecord(made.file)).toEqual({ kind: 'intact' });
    made.file.spans[1]!.wallMs += 60_000;
    expect(verifyRecord(made.file)).toMatchObject({ kind: 'broken' });
  });

  it('seals what storage will give back: absent and undefined are the same', () => {
    const made = {
      by: { kind: 'voice', name: undefined },
      madeAtMs: 0,
      madeAt: '2026-03-05T14:00:00Z',
    } as const;
    const [event] = sealEvents(null, [{ kind: 'begin', mode: 'real', reference: undefined }], made);
    expect(event).toEqual(JSON.parse(JSON.stringify(event)));
    expect(verifyChain([event!])).toEqual({ kind: 'intact' });
  });
});

describe('folding', () => {
  it('is the same for every order in which the events come', () => {
    const { file } = record();
    const expected = foldRecord(file);
    fc.assert(
      fc.property(fc.shuffledSubarray(file.events, { minLength: file.events.length }), (events) => {
        expect(foldRecord({ ...file, events })).toEqual(expected);
      }),
      { numRuns: 50 },
    );
  });

  it('names events that have nothing to apply to and changes nothing by them', () => {
    const made = record();
    const before = made.view.entries;
    made.append(
      { kind: 'helper' },
      at(4),
      { kind: 'strike', entryId: 'nobody' },
      { kind: 'reject', questionId: 'q' },
    );
    expect(made.view.entries).toEqual(before);
    expect(made.view.withoutEffect.map(({ why }) => why)).toEqual(['no such entry', 'no such question']);
  });

  it('strikes, restores, replaces and shifts without losing what stood before', () => {
    const made = record();
    const entryId = made.idOf('mcroberts');
    const helper = { kind: 'helper' } as const;
    made.append(helper, at(4), { kind: 'strike', entryId, reason: 'misheard' }, { kind: 'restore', entryId });
    made.append(helper, at(5), { kind: 'replace', entryId, entry: { code: 'all-fours', phase: 'start' } });
    made.append(helper, at(6), { kind: 'shift', entryId, atMs: at(2, 10), reason: 'clock read aloud' });
    const entry = made.view.entries.find((e) => e.entryId === entryId)!;
    expect(entry).toMatchObject({
      entry: { code: 'all-fours' },
      atMs: at(2, 10),
      timing: 'corrected',
      status: 'logged',
    });
    expect(entry.changes.map(({ kind, entry: was, atMs }) => [kind, was.code, atMs])).toEqual([
      ['strike', 'mcroberts', at(2)],
      ['restore', 'mcroberts', at(2)],
      ['replace', 'mcroberts', at(2)],
      ['shift', 'all-fours', at(2)],
    ]);
  });

  it('keeps a field named like a prototype key as a plain field', () => {
    const made = record().field(at(9), '__proto__', 'x');
    expect(Object.keys(made.view.fields)).toEqual(['__proto__']);
    expect(({} as Record<string, unknown>).value).toBeUndefined();
  });
});
