import { describe, expect, it } from 'vitest';
import type { Entry, FetalPosition, Side } from '../../../src/core/entry.ts';
import {
  rowOfAnteriorShoulder,
  rowOfBack,
  rowOfFace,
  rowOfPosition,
  sides,
  type SideRow,
} from '../../../src/core/facts/sides.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { checksOf, unread } from '../published-checks.ts';

const last = (words: unknown) => String(words).split(' ').at(-1) as Side;
/** A row of the table in the words of the check values. */
const inWords = (row: SideRow | null) => ({
  fetal_back: row ? `maternal ${row.back}` : 'unknown',
  face_after_turning: row ? `maternal ${row.face}` : 'unknown',
  anterior_shoulder: row ? `fetal ${row.anteriorShoulder}` : 'unknown',
  suprapubic_from: row ? `maternal ${row.suprapubicFrom}` : 'unknown',
  push_toward: row ? `maternal ${row.pushToward}` : 'unknown',
  occiput: row ? `maternal ${row.back}` : 'unknown',
});

function entriesOf(input: Record<string, unknown>): Entry[] {
  const entries: Entry[] = [];
  if (input.position_at_birth_of_head)
    entries.push({ code: 'fetal-position', position: input.position_at_birth_of_head as FetalPosition });
  if (input.observed_face_after_turning)
    entries.push({ code: 'head-faces', side: last(input.observed_face_after_turning) });
  if (input.spoken_anterior_shoulder)
    entries.push({ code: 'anterior-shoulder', babySide: last(input.spoken_anterior_shoulder) });
  if (input.spoken_suprapubic_from)
    entries.push({ code: 'suprapubic-pressure', side: last(input.spoken_suprapubic_from) });
  return entries;
}

const sidesOf = (entries: Entry[]) => {
  const record = new MadeRecord();
  for (const [index, entry] of entries.entries()) record.called(at(1, index * 5), entry.code, entry);
  return sides(record.view);
};

describe('sides', () => {
  it.each(checksOf('side'))('%s', (_title, check) => {
    const { input, expected } = check;
    const spoken = Object.keys(input).some((key) => key.startsWith('spoken'));
    if (spoken || Object.keys(input).length > 1) {
      const found = sidesOf(entriesOf(input));
      if (input.spoken_suprapubic_from !== undefined) {
        // An act against a finding: both stand as they were given, and the record calls neither a fault.
        expect(new Set(found.readings.map((r) => r.impliesBack)).size).toBe(expected === 'conflict' ? 2 : 1);
        expect(found.contradictions).toEqual([]);
        return;
      }
      expect(found.consistency).toBe(expected === 'conflict' ? 'contradiction' : 'consistent');
      if (expected === 'conflict') {
        expect(found.contradictions).toHaveLength(1);
        expect(found.contradictions[0]!.entryIds).toHaveLength(2);
        return;
      }
    }
    const position = (input.position_at_birth_of_head ?? input.term) as FetalPosition | undefined;
    const row = position
      ? rowOfPosition(position)
      : input.observed_face_after_turning
        ? rowOfFace(last(input.observed_face_after_turning))
        : input.occiput || input.fetal_back
          ? rowOfBack(last(input.occiput ?? input.fetal_back))
          : unread(check);
    expect(inWords(row)).toMatchObject(expected as object);
  });

  it('goes from the anterior shoulder to the same row', () => {
    expect(rowOfAnteriorShoulder('right')).toEqual(rowOfPosition('LOA'));
    expect(rowOfAnteriorShoulder('left')).toEqual(rowOfFace('left'));
  });

  it('lists each pair of statements once, with both times, and picks none', () => {
    const found = sidesOf([
      { code: 'fetal-position', position: 'LOA' },
      { code: 'anterior-shoulder', babySide: 'left' },
      { code: 'anterior-shoulder', babySide: 'left' },
    ]);
    expect(found.contradictions).toHaveLength(1);
    expect(found.contradictions[0]!.sentence).toBe(
      'These do not fit together: "position of the head LOA" (14:01:00) and "baby\'s left shoulder anterior" (14:01:05).',
    );
    expect(found.contradictions[0]!.entryIds).toHaveLength(3);
  });

  it('asks for what is missing and offers no answer', () => {
    const found = sidesOf([{ code: 'fetal-position', position: 'ROT' }, { code: 'suprapubic-pressure' }]);
    expect(found.questions.map((q) => q.id)).toEqual(['anterior-shoulder', 'head-faces', 'suprapubic-side']);
    for (const asked of found.questions)
      expect(JSON.stringify(asked)).not.toMatch(/"(left|right)|fits|fit with/);
    expect(sidesOf([]).consistency).toBe('nothing to compare');
  });

  it('takes the side of pressure for an act, which contradicts no finding', () => {
    const found = sidesOf([
      { code: 'fetal-position', position: 'LOA' },
      { code: 'suprapubic-pressure', side: 'right' },
    ]);
    expect(found.contradictions).toEqual([]);
    expect(found.readings.map((r) => r.said)).toContain("suprapubic pressure from the mother's right");
  });
});
