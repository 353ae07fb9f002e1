import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteFhir } from '../../../src/core/note/fhir.ts';
import { noteHtml } from '../../../src/core/note/html.ts';
import { PRACTICE_MARK, type Note } from '../../../src/core/note/model.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { timelineSvg, timelineWords } from '../../../src/core/note/timeline-svg.ts';
import { choiceText, type AnySlot } from '../../../src/core/slots.ts';
import { codeInfo } from '../../../src/core/vocabulary/code-info.ts';
import { slotText } from '../../../src/core/vocabulary/entry-label.ts';
import { checksOf } from '../published-checks.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { tablesText } from './tables-of.ts';
import { INVENTED } from './invented-records.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const noteOf = ({ file, view }: MadeRecord) => buildNote(file, view, deriveFacts(view), loadVocabulary());
const RENDERINGS = { text: noteText, html: noteHtml, csv: tablesText, fhir: noteFhir };
const HOSTILE = `<img src=x onerror=alert(1)>"'&=cmd|' /C calc'!A0`;

/** Words that nobody wrote: what a missing value leaves behind when it is printed. */
function expectWhole(rendered: string) {
  expect(rendered).not.toMatch(/\bundefined\b|\bNaN\b|\bnull\b|\[object|Infinity/);
}
/** Every value that a note shows, whatever rendering shows it. */
function valuesOf({ sections }: Note): string[] {
  return sections.flatMap(({ blocks }) =>
    blocks.flatMap((block) => {
      switch (block.kind) {
        case 'pairs':
          return block.pairs.flatMap(({ label, value, remark = 'timed' }) => [label, value, remark]);
        case 'table':
          return block.table.rows.flat();
        case 'lines':
          return block.lines.flatMap(({ time, fromHead, text, marks, provenance }) => [
            time,
            fromHead,
            text,
            ...marks,
            ...provenance,
          ]);
        case 'list':
          return block.items;
        case 'text':
          return [block.text];
      }
    }),
  );
}
function expectNoEmptyField(note: Note) {
  for (const value of valuesOf(note)) {
    expect(value.trim()).not.toBe('');
    expect(value, value).not.toMatch(/: ?;|: ?\.$|\( *\)|\u201c\u201d|[:\s]$/);
  }
}

const side = fc.constantFrom('left' as const, 'right' as const);
const entryOf: fc.Arbitrary<Entry> = fc.oneof(
  fc
    .constantFrom('head-delivered', 'body-delivered', 'dystocia-declared', 'help-called', 'no-effect', 'cry')
    .map((code) => ({ code })),
  fc.record({
    code: fc.constantFrom('mcroberts', 'rubin-2', 'posterior-arm', 'all-fours'),
    phase: fc.option(fc.constantFrom('start', 'stop', 'done', 'failed', 'succeeded'), { nil: undefined }),
  }) as fc.Arbitrary<Entry>,
  fc.record({
    code: fc.constant('suprapubic-pressure'),
    side: fc.option(side, { nil: undefined }),
  }) as fc.Arbitrary<Entry>,
  fc.record({ code: fc.constantFrom('head-faces', 'fetal-back'), side }),
  fc.record({ code: fc.constant('anterior-shoulder'), babySide: side }),
  fc.record({
    code: fc.constantFrom('role-called', 'role-arrived'),
    role: fc.constantFrom('paediatrician', 'anaesthetist', 'unit-role'),
  }),
  fc.record({
    code: fc.constant('apgar'),
    minute: fc.constantFrom(1, 5, 10, 15, 20),
    score: fc.integer({ min: 0, max: 10 }),
  }) as fc.Arbitrary<Entry>,
  fc.record({
    code: fc.constant('cord-gas'),
    vessel: fc.constantFrom('arterial', 'venous'),
    ph: fc.integer({ min: 650, max: 780 }).map((n) => n / 100),
  }) as fc.Arbitrary<Entry>,
  fc.record({
    code: fc.constant('free-note'),
    text: fc.stringMatching(/^[a-z<>&"'=+,@-]{1,30}[a-z]$/),
  }),
  fc.constant({ code: 'a-code-of-the-unit' }),
);
/** Any record at all: times in any order, entries that contradict each other, strikes and typed ones. */
const anyRecord = fc
  .array(
    fc.record({
      entry: entryOf,
      seconds: fc.integer({ min: -60, max: 1200 }),
      how: fc.constantFrom('called', 'touched', 'typed', 'undone'),
    }),
    { maxLength: 14 },
  )
  .map((steps) => {
    const record = new MadeRecord({ mode: steps.length % 3 === 0 ? 'practice' : 'real' });
    for (const { entry, seconds, how } of steps) {
      if (how === 'touched') record.touched(at(0, seconds), entry);
      else if (how === 'typed') record.typed(at(40), at(0, seconds), entry, undefined, seconds % 2 === 0);
      else record.called(at(0, seconds), 'words', entry);
      if (how === 'undone') record.command(at(0, seconds + 2), 'scratch that', 'undo');
    }
    return record;
  });

describe('every rendering', () => {
  it('of any record at all holds no left-over word and no empty field', { timeout: 60_000 }, () => {
    fc.assert(
      fc.property(anyRecord, (record) => {
        const note = noteOf(record);
        for (const render of Object.values(RENDERINGS)) expectWhole(render(note));
        expectNoEmptyField(note);
      }),
      { numRuns: 60 },
    );
  });

  it.each(Object.keys(INVENTED))('of %s is whole, and the same each time', (name) => {
    const note = noteOf(INVENTED[name]!());
    for (const render of Object.values(RENDERINGS)) {
      expectWhole(render(note));
      expect(render(noteOf(INVENTED[name]!()))).toBe(render(note));
    }
    expectNoEmptyField(note);
  });

  it('names every field without a value as not recorded, in one list', () => {
    const record = new MadeRecord();
    const text = noteText(noteOf(record)).replace(/\s+/g, ' ');
    const { completeness } = deriveFacts(record.view);
    for (const { field, state } of completeness.groups.flatMap((g) => g.fields)) {
      if (state === 'not recorded') expect(text).toContain(field.label);
    }
    expect(text.match(/NOT RECORDED/g)).toHaveLength(1);
    expect(noteText(noteOf(record)).split('KEY TIMES')[1]).toMatch(/Head delivered +not recorded/);
  });

  it.each(Object.entries(RENDERINGS))('%s of a drill carries its mark', (_name, render) => {
    expect(render(noteOf(INVENTED.drill!()))).toContain(PRACTICE_MARK);
    expect(render(noteOf(INVENTED['short-easy-birth']!()))).not.toContain('PRACTICE');
  });

  it('prints the volume of a blood loss and never a label for it', () => {
    const check = checksOf('blood-loss')[0]![1];
    const millilitres = check.input.volume_ml as number;
    const { printed } = check.expected as { printed: string };
    const record = new MadeRecord().called(at(9), 'blood loss twelve hundred', {
      code: 'blood-loss',
      millilitres,
    });
    for (const render of Object.values(RENDERINGS)) {
      expect(render(noteOf(record))).toContain(render === noteFhir ? `"value": ${millilitres}` : printed);
      expect(render(noteOf(record))).not.toMatch(/haemorrhage:|\b(minor|major|severe|moderate)\b/i);
    }
  });

  it('grades nothing, predicts nothing and keeps derived directions and cross-checks out', () => {
    for (const name of Object.keys(INVENTED)) {
      const { file, view } = INVENTED[name]!();
      const said = buildNote(file, view, deriveFacts(view), loadVocabulary());
      const text = noteText({ ...said, lines: said.lines });
      expect(text).not.toMatch(
        /\b(severe|mild|moderate|normal|abnormal|acidosis|asphyxia|cooling|predict\w*)\b/i,
      );
      expect(text).not.toMatch(/Van Slyke|Zander|CLSI|Westgate|\bclockwise\b/);
      if (name !== 'all-manoeuvres') expect(text).not.toContain('anticlockwise');
    }
  });
});

describe('the text note', () => {
  const flat = (words: string) => words.replace(/PRACTICE\||\s/g, '');
  it('holds every slot value of every entry that stands', { timeout: 60_000 }, () => {
    fc.assert(
      fc.property(anyRecord, (record) => {
        const note = noteOf(record);
        const text = flat(noteText(note));
        for (const { entry } of note.lines) {
          if (entry.status !== 'logged') continue;
          const { code, ...slots } = entry.entry;
          for (const slot of Object.keys(slots) as (keyof typeof slots & AnySlot)[]) {
            if (slots[slot] === undefined) continue;
            const info = codeInfo(note.vocabulary, code);
            const words =
              slot === 'phase'
                ? choiceText('phase', slots[slot])
                : slotText(entry.entry, slot, info, note.vocabulary);
            expect(text, `${code} ${slot}`).toContain(flat(words));
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  it('names no manoeuvre, side or person that no entry holds', () => {
    for (const name of Object.keys(INVENTED)) {
      const note = noteOf(INVENTED[name]!());
      const before = noteText(note).split('NOT RECORDED')[0]!;
      const held = new Set(note.view.entries.map(({ entry }) => entry.code));
      for (const { code, label, group } of note.vocabulary.codes.values())
        if (group === 'manoeuvres' && !held.has(code)) expect(before, `${name} ${code}`).not.toContain(label);
    }
  });
});

describe('HTML', () => {
  it('escapes every value and loads and runs nothing', () => {
    const record = new MadeRecord({ reference: HOSTILE })
      .called(at(1), HOSTILE, { code: 'free-note', text: HOSTILE })
      .called(at(2), 'x', { code: 'drug-given', drug: HOSTILE, dose: HOSTILE })
      .called(at(3), 'x', { code: 'role-arrived', role: HOSTILE })
      .field(at(4), 'staff-present', HOSTILE, { kind: 'reviewer', name: HOSTILE })
      .append({ kind: 'reviewer', name: HOSTILE }, at(5), {
        kind: 'sign',
        name: HOSTILE,
        role: HOSTILE,
        statement: HOSTILE,
      });
    const html = noteHtml(noteOf(record));
    expect(html).not.toContain('<img');
    expect(html).not.toMatch(/<script|javascript:|\bon\w+="/i);
    expect(html).not.toMatch(/(src|href)=(?!x)/);
    expect(html).toContain('&lt;img src=x onerror=alert(1)&gt;');
  });

  it('marks every section and every line of a drill', () => {
    const note = noteOf(INVENTED['amended-drill']!());
    const headings = noteHtml(note).match(/<h2[^>]*>.*?<\/h2>/g)!;
    expect(headings.length).toBeGreaterThan(5);
    for (const heading of headings) expect(heading).toContain('PRACTICE');
    for (const line of noteText(note).split('\n')) expect(line).toMatch(/^(PRACTICE\| .*)?$/);
  });
});

describe('the timeline', () => {
  const note = () => noteOf(INVENTED['all-manoeuvres']!());
  it('shows each manoeuvre, landmark, call and arrival once, all named in the text alternative', () => {
    const svg = timelineSvg(note());
    const words = timelineWords(note());
    expect(svg.match(/<rect [^>]*height="14"/g)).toHaveLength(11);
    expect(words.filter((w) => /^\d+\. /.test(w))).toHaveLength(12);
    for (const part of ['Head to body: 5:11', 'Head delivered: 23:57:43 (0:00)', 'Anaesthetist arrived']) {
      expect(words.join('\n')).toContain(part);
    }
  });

  it('is grey, needs no style sheet, and draws ends that nobody called out otherwise', () => {
    const svg = timelineSvg(note());
    for (const colour of svg.match(/#[0-9a-f]{3,6}/gi)!) expect(colour).toMatch(/^#([0-9a-f])\1\1$/i);
    expect(svg).not.toContain('style=');
    expect(svg).toContain('stroke-dasharray');
  });

  it('says so when there is nothing to show', () => {
    expect(timelineSvg(noteOf(new MadeRecord()))).toContain('No times to show.');
  });
});
