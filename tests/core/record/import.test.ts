import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isoWithOffset } from '../../../src/core/log/clock.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { canonicalJson } from '../../../src/core/log/canonical.ts';
import { verifyRecord } from '../../../src/core/log/chain.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { INVENTED } from '../note/invented-records.ts';

const exported = (name = 'all-manoeuvres') => exportRecord(INVENTED[name]!().file);
const refusal = (text: string) => {
  const result = importRecord(text);
  if (result.kind !== 'refused') throw new Error('the file was taken');
  return result;
};
/** The exported text with the parsed value changed. */
const changed = (change: (value: Record<string, never> & { events: Record<string, unknown>[] }) => void) => {
  const value = JSON.parse(exported('short-easy-birth'));
  change(value);
  return JSON.stringify(value);
};

describe('export and import', () => {
  it.each(Object.keys(INVENTED))('give back %s exactly', (name) => {
    const { file } = INVENTED[name]!();
    const result = importRecord(exportRecord(file));
    expect(result).toEqual({ kind: 'ok', file });
    if (result.kind === 'ok') expect(exportRecord(result.file)).toBe(exportRecord(file));
  });

  it('give the same record whatever the order of the events in the file', () => {
    const { file } = INVENTED['amended-after-signing']!();
    fc.assert(
      fc.property(fc.shuffledSubarray(file.events, { minLength: file.events.length }), (events) => {
        expect(importRecord(exportRecord({ ...file, events }))).toEqual({ kind: 'ok', file });
      }),
      { numRuns: 20 },
    );
  });

  it('take a file that an editor gave a byte order mark', () => {
    expect(importRecord(`\uFEFF${exported()}`).kind).toBe('ok');
  });

  it('find every change of one byte', { timeout: 60_000 }, () => {
    const { file } = new MadeRecord({ reference: 'R 1' })
      .called(at(1), 'head out', { code: 'head-delivered' })
      .said(at(2), 'rubin', { outcome: 'ask', entries: [{ code: 'rubin-2' }], problem: 'unclear' })
      .command(at(2, 5), 'yes', 'confirm');
    const text = exportRecord(file);
    const same = canonicalJson(file);
    let found = 0;
    fc.assert(
      fc.property(fc.nat(text.length - 1), fc.integer({ min: 32, max: 126 }), (place, code) => {
        const altered = text.slice(0, place) + String.fromCharCode(code) + text.slice(place + 1);
        const result = importRecord(altered);
        // White space between values, and 1.0 for 1, say the same thing: those alone may pass.
        if (result.kind === 'ok') expect(canonicalJson(result.file)).toBe(same);
        else found += 1;
      }),
      { numRuns: 1000 },
    );
    expect(found).toBeGreaterThan(700);
  });
});

describe('import refuses', () => {
  it.each([
    ['an empty file', '', 'the whole file'],
    ['text', 'hello', 'line 1'],
    ['a cut file', exported().slice(0, -400), 'line'],
    ['another kind of file', '{"resourceType":"Bundle"}', '/format'],
    ['a list', '[]', '/format'],
    ['a newer version', changed((v) => Object.assign(v, { version: 3 })), '/version'],
    ['an unknown version', changed((v) => Object.assign(v, { version: 'one' })), '/version'],
    ['a changed time', changed((v) => Object.assign(v.events[2]!, { atMs: 5 })), '/events/2'],
    ['a missing event', changed((v) => void v.events.splice(4, 1)), '/events/4'],
    ['an event there twice', changed((v) => void v.events.push(v.events[3]!)), '/events/'],
    [
      'a field that no record has',
      changed((v) => Object.assign(v.events[2]!, { colour: 'red' })),
      '/events/2',
    ],
    ['an unknown event', changed((v) => Object.assign(v.events[2]!, { kind: 'erase' })), '/events/2/kind'],
    [
      'a score out of bounds',
      changed((v) => Object.assign(v.events[2]!.entry as object, { score: 12 })),
      '/events/2/entry/score',
    ],
    ['an endless number', exported().replace('"atMs":130000', '"atMs":1e999'), '/events/'],
    ['another time zone', changed((v) => Object.assign(v, { timeZone: 'Mars/Olympus' })), '/timeZone'],
    ['a changed head', changed((v) => Object.assign(v, { timeZone: 'Asia/Tokyo' })), '/events/0'],
    ['a prototype key', exported().replace('"format"', '"__proto__": {}, "format"'), '/__proto__'],
    ['deep nesting', `{"format":"utterlog-record","x":${'['.repeat(5000)}${']'.repeat(5000)}}`, 'line 1'],
  ])('%s, and names the place', (_name, text, place) => {
    const { sentence, place: named } = refusal(text);
    expect(named).toContain(place);
    expect(sentence).toMatch(/^This file was not imported: .+\. Nothing on this device was changed\. .+\.$/);
  });

  it('an event that names an entry, a question or an utterance that is not there', () => {
    const helper = { kind: 'helper' } as const;
    const bodies = [
      { kind: 'strike', entryId: 'nobody' },
      { kind: 'reject', questionId: 'nothing' },
      { kind: 'mark', markId: 'm', atMs: 0, utteranceId: 'unsaid' },
    ] as const;
    for (const body of bodies) {
      const { file } = new MadeRecord().append(helper, at(1), body);
      expect(refusal(exportRecord(file)).place).toBe('/events/1');
    }
  });

  it('a time far from the record, and two entries of one name, with the place', () => {
    const helper = { kind: 'helper' } as const;
    const entry = { kind: 'entry', entryId: 'e', entry: { code: 'cry' }, timing: 'touch' } as const;
    const far = new MadeRecord().append(helper, at(1), { ...entry, atMs: -9e12 });
    expect(refusal(exportRecord(far.file))).toMatchObject({ place: '/events/1/atMs' });
    const late = new MadeRecord().append(helper, at(1), { ...entry, atMs: 9e12 });
    expect(refusal(exportRecord(late.file))).toMatchObject({ place: '/events/1/atMs' });
    const twice = new MadeRecord().append(helper, at(1), { ...entry, atMs: 1 }, { ...entry, atMs: 2 });
    expect(refusal(exportRecord(twice.file))).toMatchObject({ place: '/events/2/entryId' });
  });

  it('a value that cannot be, with the value named', () => {
    const entry = { code: 'cord-gas', vessel: 'arterial', ph: 14 } as const;
    const { file } = new MadeRecord().append({ kind: 'helper' }, at(1), {
      kind: 'entry',
      entryId: 'e',
      entry,
      atMs: 1,
      timing: 'touch',
    });
    expect(refusal(exportRecord(file)).sentence).toContain('14 lies outside 6.5 to 7.8');
  });

  it('a file larger than any record', () => {
    expect(refusal(' '.repeat(64 * 1024 * 1024 + 1)).place).toBe('the whole file');
  });
});

describe('a record of version 0', () => {
  const version0 = () => {
    const { file } = INVENTED['short-easy-birth']!();
    const { recordId, createdAt, timeZone, spans } = file;
    const events = file.events.map(({ hash: _h, previousHash: _p, madeAt: _m, ...event }) => {
      if (event.kind !== 'begin') return event;
      const { record: _record, ...begin } = event;
      return begin;
    });
    return {
      format: 'utterlog-record',
      version: 0,
      recordId,
      createdAt,
      timeZone,
      wallMs: spans[0]!.wallMs,
      events,
    };
  };

  it('is brought to the present version: same entries and times, a chain that begins at the import and says so', () => {
    const result = importRecord(JSON.stringify(version0()));
    if (result.kind !== 'ok') throw new Error(result.sentence);
    const original = INVENTED['short-easy-birth']!().file;
    expect(foldRecord(result.file).entries).toEqual(foldRecord(original).entries);
    expect(verifyRecord(result.file)).toEqual({ kind: 'intact' });
    expect(result.file.events[0]).toMatchObject({ record: { migratedFrom: 0 } });
    expect(result.file.events[1]!.madeAt).toBe(
      isoWithOffset('Europe/London', original.spans[0]!.wallMs + original.events[1]!.madeAtMs),
    );
    expect(importRecord(exportRecord(result.file))).toEqual({ kind: 'ok', file: result.file });
  });

  it('is refused with the place where it is damaged', () => {
    const broken = version0();
    Object.assign(broken.events[2]!, { entry: { code: 'HEAD' } });
    expect(refusal(JSON.stringify(broken)).place).toBe('/events/2/entry/code');
    expect(refusal(JSON.stringify({ ...version0(), wallMs: 'noon' })).place).toBe('/wallMs');
    expect(refusal(JSON.stringify({ ...version0(), timeZone: 'Nowhere' })).place).toBe('/timeZone');
  });
});
