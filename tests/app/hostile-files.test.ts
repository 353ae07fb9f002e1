import fc from 'fast-check';
import { strToU8, zipSync } from 'fflate';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { importFiles } from '../../src/app/imports.ts';
import { readWav, WavError, writeWav } from '../../src/audio/wav.ts';
import { sealEvents } from '../../src/core/log/chain.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { exportRecord } from '../../src/core/record/export.ts';
import { importScenario } from '../../src/core/practice/scenario-file.ts';
import { importRecord } from '../../src/core/record/import.ts';
import { importUnitList } from '../../src/core/vocabulary/unit-list.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { createRecord, forgetAll, listRecords, readRecord } from '../../src/store/records.ts';

const createdAt = '2026-01-01T00:00:00.000+00:00';
const timeZone = 'Europe/London';
function record(recordId: string) {
  const file = createRecordFile({ recordId, mode: 'practice', wallMs: 0, createdAt, timeZone });
  const made = { by: { kind: 'helper' }, madeAtMs: 5, madeAt: createdAt } as const;
  const entry = { code: 'free-note', text: '<img src=x onerror=alert(1)>' };
  const body = { kind: 'entry', entryId: 'e1', entry, atMs: 5, timing: 'touch' } as const;
  return { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, [body], made)] };
}
const GOOD = record('11111111-1111-4111-8111-111111111111');
const KEPT = record('22222222-2222-4222-8222-222222222222');
const text = exportRecord(GOOD);

const importAs = (name: string, content: BlobPart) =>
  importFiles([new File([content], name)], {
    onProgress: () => {},
    signal: new AbortController().signal,
    vocabulary: loadVocabulary(),
  });

beforeEach(async () => {
  vi.useFakeTimers();
  await createRecord(KEPT);
});
afterEach(async () => {
  // Whatever came in: the record that was there is untouched.
  const outcome = await readRecord(KEPT.recordId);
  expect(outcome).toMatchObject({ file: KEPT });
  forgetAll();
  vi.useRealTimers();
});

test('an altered byte anywhere in a record is refused with a sentence and a place, or changes nothing', () => {
  fc.assert(
    fc.property(fc.nat(text.length - 1), fc.integer({ min: 32, max: 126 }), (at, code) => {
      const altered = text.slice(0, at) + String.fromCharCode(code) + text.slice(at + 1);
      const read = importRecord(altered);
      if (read.kind === 'ok') expect(read.file).toEqual(GOOD);
      else {
        expect(read.sentence).toMatch(/^This file was not imported: .+ Nothing on this device was changed/s);
        expect(read.place).not.toBe('');
      }
    }),
    { numRuns: 300 },
  );
});

test('a record cut anywhere is refused', () => {
  fc.assert(
    fc.property(fc.nat(text.trimEnd().length - 1), (length) => {
      expect(importRecord(text.slice(0, length)).kind).toBe('refused');
    }),
    { numRuns: 150 },
  );
});

test('any JSON and any text at all is refused without an exception', () => {
  fc.assert(
    fc.property(fc.oneof(fc.json(), fc.string()), (content) => {
      expect(importRecord(content).kind).toBe('refused');
    }),
    { numRuns: 300 },
  );
});

test.each([
  ['deep arrays', '['.repeat(200_000)],
  ['deep objects', '{"a":'.repeat(100_000) + '1' + '}'.repeat(100_000)],
  ['__proto__', text.replace('"events"', '"__proto__":{"polluted":true},"events"')],
  ['constructor', text.replace('"events"', '"constructor":{"prototype":{"polluted":true}},"events"')],
  ['a number too large', text.replace(/"version":\s*2/, '"version":1e999')],
  ['nothing', ''],
  ['a lone surrogate', '"\ud800"'],
])('%s: refused, and the language itself is untouched', (_name, content) => {
  expect(importRecord(content).kind).toBe('refused');
  expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
});

test('a ZIP with good and bad records: the good ones come in, each bad one is named', async () => {
  const zip = zipSync({
    'a/good.json': strToU8(text),
    '../../escape.json': strToU8('{}'),
    '__proto__.json': strToU8('[]'),
    'not-json.json': strToU8('PK'),
  });
  const result = await importAs('all.zip', zip as BlobPart);
  expect(result.imported).toBe(1);
  expect(result.problems.map(({ kind }) => kind)).toEqual(['refused', 'refused', 'refused']);
  expect((await listRecords()).records).toHaveLength(2);
});

test('a ZIP with one damaged part: the others come in', async () => {
  const ids = ['33333333-3333-4333-8333-333333333333', '44444444-4444-4444-8444-444444444444'];
  const [first, second] = ids.map((id) => strToU8(exportRecord(record(id))));
  const zip = zipSync({ 'a.json': first!, 'b.json': new Uint8Array(500).fill(65), 'c.json': second! });
  // The method in the second part's head: a number that no unpacker knows (APPNOTE 4.4.5).
  const view = new DataView(zip.buffer, zip.byteOffset, zip.byteLength);
  for (let at = 0, part = 0; at + 4 <= zip.length; at++) {
    if (view.getUint32(at, true) === 0x02014b50 && ++part === 2) view.setUint16(at + 10, 77, true);
  }
  const result = await importAs('part.zip', zip as BlobPart);
  expect(result.problems).toEqual([{ kind: 'unreadable', name: 'part.zip: b.json' }]);
  expect(result.imported).toBe(2);
});

test('a long file: progress comes, and cancelling in the middle keeps nothing of it', async () => {
  const id = '55555555-5555-4555-8555-555555555555';
  const made = { by: { kind: 'helper' }, madeAtMs: 5, madeAt: createdAt } as const;
  const bodies = Array.from(
    { length: 500 },
    (_, at) => ({ kind: 'mark', markId: `m${at}`, atMs: at }) as const,
  );
  const long = record(id);
  const events = [...long.events, ...sealEvents(long.events.at(-1)!, bodies, made)];
  const file = new File([exportRecord({ ...long, events })], 'long.json');
  const stop = new AbortController();
  const parts: number[] = [];
  const onProgress = ({ part }: { part: number }) => {
    parts.push(part);
    if (part > 0.5) stop.abort();
  };
  const result = await importFiles([file], { onProgress, signal: stop.signal, vocabulary: loadVocabulary() });
  expect(result).toEqual({ imported: 0, problems: [], cancelled: true });
  expect(parts.length).toBeGreaterThan(2);
  expect(parts).toEqual([...parts].sort((a, b) => a - b));
  expect((await listRecords()).records).toHaveLength(1);
  const again = await importFiles([file], {
    onProgress: () => {},
    signal: new AbortController().signal,
    vocabulary: loadVocabulary(),
  });
  expect(again.imported).toBe(1);
});

/** One part of zeros, with its unpacked size in both headers set to `says` (PKWARE APPNOTE 4.3.7, 4.3.12). */
function zipThatSays(says: number, bytes: number): Uint8Array {
  const zip = zipSync({ 'bomb.json': new Uint8Array(bytes) }, { level: 9 });
  const view = new DataView(zip.buffer, zip.byteOffset, zip.byteLength);
  for (let at = 0; at + 4 <= zip.length; at++) {
    const signature = view.getUint32(at, true);
    if (signature === 0x04034b50) view.setUint32(at + 22, says, true);
    if (signature === 0x02014b50) view.setUint32(at + 24, says, true);
  }
  return zip;
}

test.each([
  ['says more than any export', 3_000_000_000, 1024],
  ['says less than it unpacks to', 10, 24 * 1024 * 1024],
])(
  'a ZIP bomb that %s is refused and takes no memory',
  async (_name, says, bytes) => {
    const zip = zipThatSays(says, bytes);
    const before = process.memoryUsage().arrayBuffers;
    const result = await importAs('bomb.zip', zip as BlobPart);
    expect(result.imported).toBe(0);
    expect(result.problems).toHaveLength(1);
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(20 * 1024 * 1024);
  },
  30_000,
);

test('a ZIP that lies about its size, or has any bytes changed, is an error told and no crash', async () => {
  const zip = zipSync({ 'one.json': strToU8(text), 'two.json': strToU8('{}') });
  const property = fc.asyncProperty(
    fc.array(fc.tuple(fc.nat(zip.length - 1), fc.nat(255)), { minLength: 1, maxLength: 6 }),
    async (changes) => {
      const altered = zip.slice();
      for (const [at, value] of changes) altered[at] = value;
      const result = await importAs('altered.zip', altered as BlobPart);
      for (const { kind } of result.problems) {
        expect(['refused', 'unreadable', 'empty', 'exists']).toContain(kind);
      }
    },
  );
  await fc.assert(property, { numRuns: 200 });
});

/** Whatever a person opens as one of the app's small files, with the right head and anything behind it. */
const anything = (format: string, parts: string[]) =>
  fc.record(
    {
      format: fc.constant(format),
      version: fc.constant(1),
      ...Object.fromEntries(parts.map((part) => [part, fc.jsonValue()])),
    },
    { requiredKeys: ['format', 'version'] },
  );
const NOT_A_SENTENCE = /Cannot read|not a function|undefined|\[object/;

test.each([
  [
    'a unit’s words',
    (content: string) => importUnitList(content, loadVocabulary),
    anything('utterlog-unit-words', ['phrases', 'roles', 'drugs', 'codes']),
  ],
  [
    'a scenario',
    (content: string) => importScenario(content, loadVocabulary()),
    anything('utterlog-scenario', ['id', 'title', 'summary', 'lines', 'truth', 'speakers', 'lengthMs']),
  ],
])('%s with anything in it is taken or refused in a sentence', (_what, read, file) => {
  const check = (content: string) => {
    const outcome = read(content);
    if (outcome.kind === 'refused') expect(outcome.sentence).not.toMatch(NOT_A_SENTENCE);
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
    return outcome.kind;
  };
  fc.assert(
    fc.property(file, (value) => void check(JSON.stringify(value))),
    { numRuns: 200 },
  );
  fc.assert(
    fc.property(fc.oneof(fc.json(), fc.string()), (content) => void check(content)),
    { numRuns: 200 },
  );
  expect(check('['.repeat(200_000))).toBe('refused');
  expect(check('{"format":1,"__proto__":{"polluted":true}}')).toBe('refused');
});

test('WAV: any change of a header or any length gives sound or a sentence, never another error', () => {
  const wav = writeWav({ sampleRate: 16_000, samples: new Float32Array(400).fill(0.1) });
  const safely = (bytes: Uint8Array) => {
    try {
      const { samples, sampleRate } = readWav(bytes);
      expect(samples.length).toBeLessThanOrEqual(bytes.length);
      expect(sampleRate).toBeGreaterThan(0);
    } catch (error) {
      expect(error).toBeInstanceOf(WavError);
      expect((error as Error).message).toMatch(/^The .+\.$/s);
    }
  };
  fc.assert(
    fc.property(
      fc.array(fc.tuple(fc.nat(60), fc.nat(255)), { maxLength: 8 }),
      fc.nat(wav.length),
      (changes, cut) => {
        const altered = wav.slice(0, cut);
        for (const [at, value] of changes) if (at < cut) altered[at] = value;
        safely(altered);
      },
    ),
    { numRuns: 1_000 },
  );
  fc.assert(fc.property(fc.uint8Array({ maxLength: 200 }), safely), { numRuns: 500 });
});
