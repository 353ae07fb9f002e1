import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { aroundBirth, DAY_MS } from '../../../src/core/log/time-bounds.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteHtml } from '../../../src/core/note/html.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { timelineSvg, timelineWords } from '../../../src/core/note/timeline-svg.ts';
import { entryProblem } from '../../../src/core/record/entry-problem.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import type { Interpretation } from '../../../src/core/interpret/interpretation.ts';
import { interpret } from '../../../src/core/interpret/interpret.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { tableRows } from '../interpret/table.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { INVENTED } from '../note/invented-records.ts';
import { tablesText } from '../note/tables-of.ts';

const vocabulary = loadVocabulary();
const helper = { kind: 'helper' } as const;
const takeIn = (made: MadeRecord) => importRecord(exportRecord(made.file), vocabulary);
/** A record sealed as the app seals it, whatever it says: what the chain cannot find. */
const sealed = (...bodies: EventBody[]) => new MadeRecord().append(helper, at(1), ...bodies);
const entryBody = (entry: Entry, more: object = {}): EventBody => ({
  kind: 'entry',
  entryId: 'e',
  entry,
  atMs: 1,
  timing: 'touch',
  ...more,
});
const question = (entries: Entry[], more: object = {}): EventBody => ({
  kind: 'question',
  questionId: 'q',
  entries,
  problem: 'unclear',
  atMs: 1,
  timing: 'touch',
  ...more,
});
const utterance = (more: object = {}): EventBody => ({
  kind: 'utterance',
  utteranceId: 'u',
  onsetMs: 0,
  endMs: 1,
  heard: 'x',
  confidence: 1,
  outcome: 'unrecognised',
  ...more,
});
const CRY = { code: 'cry' } as const;
const GAS = { code: 'cord-gas', vessel: 'arterial' } as const;

describe('refused with a sentence and the place', () => {
  const far = 9e12;
  it.each<[string, EventBody[], string, string]>([
    ['an entry far before', [entryBody(CRY, { atMs: -far })], '/events/1/atMs', '24 hours before'],
    ['an entry far after', [entryBody(CRY, { atMs: far })], '/events/1/atMs', '24 hours after'],
    ['speech far before', [utterance({ onsetMs: -far })], '/events/1/onsetMs', '24 hours before'],
    ['speech that ends before it begins', [utterance({ onsetMs: 9 })], '/events/1/endMs', 'ends before'],
    ['a finish far after', [{ kind: 'finish', atMs: far }], '/events/1/atMs', '24 hours after'],
    [
      'a clock moved by years',
      [{ kind: 'clock-offset', roomMinusDeviceMs: far, against: 'x' }],
      '/events/1/roomMinusDeviceMs',
      'more than a day',
    ],
    ['two entries of one name', [entryBody(CRY), entryBody(CRY)], '/events/2/entryId', 'two entries'],
    ['two utterances of one name', [utterance(), utterance()], '/events/2/utteranceId', 'two utterances'],
    ['two questions of one name', [question([]), question([])], '/events/2/questionId', 'two questions'],
    [
      'an answer that takes the name of an entry',
      [
        entryBody(CRY),
        question([CRY]),
        { kind: 'confirm', questionId: 'q', entryIds: ['e'], entries: [CRY] },
      ],
      '/events/3/entryIds/0',
      'two entries',
    ],
    [
      'an answer that makes two entries of one name',
      [question([CRY]), { kind: 'confirm', questionId: 'q', entryIds: ['n', 'n'], entries: [CRY, CRY] }],
      '/events/2/entryIds/1',
      'two entries',
    ],
    [
      'an answer with fewer names than entries',
      [question([CRY]), { kind: 'confirm', questionId: 'q', entryIds: [], entries: [CRY] }],
      '/events/2/entryIds',
      'names 0 entries and holds 1',
    ],
    ['pH 14', [entryBody({ ...GAS, ph: 14 })], '/events/1/entry/ph', '14 lies outside 6.5 to 7.8'],
    [
      'pH 14 in a question',
      [question([CRY, { ...GAS, ph: 14 }])],
      '/events/1/entries/1/ph',
      '14 lies outside 6.5 to 7.8',
    ],
    [
      'pH 14 in another reading',
      [question([CRY], { alternatives: [{ entries: [{ ...GAS, ph: 14 }] }] })],
      '/events/1/alternatives/0/entries/0/ph',
      '14 lies outside',
    ],
    [
      'pH 14 by a correction',
      [entryBody(GAS), { kind: 'replace', entryId: 'e', entry: { ...GAS, ph: 14 } }],
      '/events/2/entry/ph',
      '14 lies outside',
    ],
    ['an unknown code', [entryBody({ code: 'baby-was-well' })], '/events/1/entry/code', '"baby-was-well"'],
    [
      'a slot foreign to its code',
      [entryBody({ code: 'head-delivered', grams: 3000 })],
      '/events/1/entry/grams',
      '"Head delivered" has no',
    ],
    [
      'a phase foreign to its code',
      [entryBody({ code: 'head-delivered', phase: 'failed' })],
      '/events/1/entry/phase',
      '"Head delivered"',
    ],
    [
      'an unknown role',
      [entryBody({ code: 'role-called', role: 'nobody at all' })],
      '/events/1/entry/role',
      '"nobody at all"',
    ],
  ])('%s', (_what, bodies, place, words) => {
    const result = takeIn(sealed(...bodies));
    if (result.kind === 'ok') throw new Error('it was taken');
    expect(result.place).toBe(place);
    expect(result.sentence).toContain(words);
    expect(result.sentence).toMatch(/^This file was not imported: .+ Nothing on this device was changed\./);
  });

  it('a log written centuries after its beginning', () => {
    expect(takeIn(new MadeRecord().append(helper, 9e12, entryBody(CRY, { atMs: 9e12 })))).toMatchObject({
      kind: 'refused',
      place: '/events/1/madeAtMs',
    });
  });
});

describe('taken', () => {
  it('the answer to a correction, which stands under the name of what it corrects', () => {
    const made = sealed(entryBody(CRY), question([CRY], { replaces: 'e' }), {
      kind: 'confirm',
      questionId: 'q',
      entryIds: ['e'],
      entries: [{ code: 'tone', state: 'floppy' }],
    });
    expect(takeIn(made).kind).toBe('ok');
  });

  it('a unit’s own code where the device has that unit’s words, and only there', () => {
    const own = loadVocabulary({
      codes: [{ code: 'unit-pool', label: 'Out of the pool', say: ['out of the pool'] }],
    });
    const text = exportRecord(sealed(entryBody({ code: 'unit-pool' })).file);
    expect(importRecord(text, own).kind).toBe('ok');
    expect(importRecord(text, vocabulary)).toMatchObject({
      kind: 'refused',
      sentence: expect.stringContaining('take over that unit’s words'.replace('’', "'")) as string,
    });
  });

  it('every invented record', () => {
    for (const make of Object.values(INVENTED)) expect(takeIn(make()).kind).toBe('ok');
  });

  it('everything that the interpreter writes of all lines of its tables', { timeout: 60_000 }, () => {
    const rows = tableRows(vocabulary);
    expect(rows.length).toBeGreaterThan(5000);
    for (const { text } of rows) {
      const read: Interpretation = interpret({ tuned: { text } }, { asking: false }, vocabulary);
      const alternatives = 'alternatives' in read ? (read.alternatives ?? []) : [];
      for (const entry of [...read.entries, ...alternatives.flatMap((other) => other.entries)])
        expect(entryProblem(entry, vocabulary), text).toBeNull();
    }
  });
});

/** Any entry at all, in form: a known or made-up code with up to three slots of anything that the schema lets in. */
const anyEntry: fc.Arbitrary<Entry> = fc
  .tuple(
    fc.oneof(fc.constantFrom(...vocabulary.codes.keys()), fc.constantFrom('made-up', 'x')),
    fc.record(
      {
        phase: fc.constantFrom('start', 'stop', 'done', 'failed', 'succeeded'),
        side: fc.constantFrom('left', 'right'),
        ph: fc.double({ min: 0, max: 14, noNaN: true }),
        score: fc.integer({ min: 0, max: 10 }),
        grams: fc.integer({ min: 0, max: 20_000 }),
        millilitres: fc.integer({ min: 0, max: 100_000 }),
        text: fc.string({ maxLength: 40 }),
        baby: fc.integer({ min: 1, max: 9 }),
      },
      { requiredKeys: [] },
    ),
  )
  .map(([code, slots]) => ({ code, ...slots }) as Entry);
const anyId = fc.constantFrom('a', 'b', 'c', 'd');
const anyTime = fc.oneof(
  fc.integer({ min: -2 * DAY_MS, max: 2 * DAY_MS }),
  fc.constantFrom(-9e12, 9e12, 0, 60_000),
);
const anyBody: fc.Arbitrary<EventBody> = fc.oneof(
  fc.record({
    kind: fc.constant('entry'),
    entryId: anyId,
    entry: anyEntry,
    atMs: anyTime,
    timing: fc.constant('touch'),
  }),
  fc.record({
    kind: fc.constant('question'),
    questionId: anyId,
    entries: fc.array(anyEntry, { maxLength: 2 }),
    problem: fc.constant('unclear'),
    atMs: anyTime,
    timing: fc.constant('heard'),
  }),
  fc.record({
    kind: fc.constant('confirm'),
    questionId: anyId,
    entryIds: fc.array(anyId, { maxLength: 2 }),
    entries: fc.array(anyEntry, { maxLength: 2 }),
  }),
  fc.record({ kind: fc.constant('shift'), entryId: anyId, atMs: anyTime }),
  fc.record({ kind: fc.constant('replace'), entryId: anyId, entry: anyEntry }),
  fc.record({ kind: fc.constant('finish'), atMs: anyTime }),
) as fc.Arbitrary<EventBody>;

test(
  'whatever is sealed: refused with a place that is there, or shown whole, bounded and in a moment',
  { timeout: 120_000 },
  () => {
    let taken = 0;
    fc.assert(
      fc.property(fc.array(anyBody, { minLength: 1, maxLength: 6 }), anyTime, (bodies, madeAtMs) => {
        const made = new MadeRecord().append(helper, madeAtMs, ...bodies);
        const text = exportRecord(made.file);
        const result = importRecord(text, vocabulary);
        if (result.kind === 'refused') {
          const parts = result.place.split('/').slice(1);
          const found = parts.reduce<unknown>((inside, key) => (inside as never)?.[key], JSON.parse(text));
          expect(found, result.place).toBeDefined();
          return;
        }
        taken += 1;
        const view = foldRecord(result.file);
        const names = bodies.flatMap((body) => (body.kind === 'entry' ? [body.entryId] : []));
        for (const name of names) expect(view.entries.map(({ entryId }) => entryId)).toContain(name);
        const facts = deriveFacts(view);
        const note = buildNote(result.file, view, facts, vocabulary);
        for (const rendering of [noteText(note), noteHtml(note), tablesText(note), timelineSvg(note)])
          expect(rendering.length).toBeLessThan(100_000);
      }),
      { numRuns: 1500 },
    );
    expect(taken).toBeGreaterThan(5);
  },
);

test('what lies more than a day from the birth stands apart with its date, and the timeline keeps its scale', () => {
  const made = new MadeRecord()
    .touched(at(1), { code: 'head-delivered' })
    .touched(at(3), { code: 'body-delivered' })
    .command(at(9), 'finish', 'finish')
    .typed(2 * DAY_MS, 2 * DAY_MS - 5000, { code: 'parents-informed' })
    .typed(2 * DAY_MS, 2 * DAY_MS - 4000, { code: 'role-arrived', role: 'obstetrician' });
  expect(takeIn(made).kind).toBe('ok');
  const { view, file } = made;
  const note = buildNote(file, view, deriveFacts(view), vocabulary);
  const apart = note.sections.find(({ id }) => id === 'dated-apart')!;
  expect(apart.blocks[0]).toMatchObject({ kind: 'lines' });
  const [block] = apart.blocks;
  if (block?.kind !== 'lines') throw new Error('no lines');
  expect(block.lines.map(({ time }) => time)).toEqual(['13:59:55 (7 Mar)', '13:59:56 (7 Mar)']);
  expect(aroundBirth(view, at(9))).toBe(true);
  expect(timelineWords(note).join()).not.toContain('7 Mar');
  expect(timelineSvg(note)).toContain('2 of another day not drawn');
});
