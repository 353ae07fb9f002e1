import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import landmarks from '../../../src/core/facts/landmarks.json';
import { ALL_SLOTS, slotInfo } from '../../../src/core/slots.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { shortLabel } from '../../../src/ui/live/short-label.ts';

const vocabulary = loadVocabulary();

describe('short labels', () => {
  const cases: [Entry, string][] = [
    [{ code: 'suprapubic-pressure', side: 'left', phase: 'start' }, 'Suprapubic left started'],
    [
      { code: 'suprapubic-pressure', side: 'left', style: 'rocking', phase: 'stop' },
      'Suprapubic left rocking stopped',
    ],
    [{ code: 'internal-entry', phase: 'start' }, 'Hand in'],
    [{ code: 'internal-entry', phase: 'stop' }, 'Hand out'],
    [{ code: 'posterior-arm', phase: 'failed' }, 'Posterior arm failed'],
    [{ code: 'posterior-arm', phase: 'done' }, 'Posterior arm out'],
    [{ code: 'meconium', present: false }, 'No meconium'],
    [{ code: 'nuchal-cord', present: true }, 'Cord round neck'],
    [{ code: 'episiotomy', decision: 'not-needed' }, 'No episiotomy'],
    [{ code: 'apgar', minute: 5, score: 9 }, 'Apgar 9 at 5 min'],
    [{ code: 'apgar', score: 9 }, 'Apgar 9 at ? min'],
    [{ code: 'cord-gas', vessel: 'venous', ph: 7.2 }, 'Cord venous pH 7.20'],
    [{ code: 'cord-gas', vessel: 'arterial', ph: 7.18, baseExcess: -6.5 }, 'Cord arterial pH 7.18 BE −6.5'],
    [{ code: 'role-arrived', role: 'anaesthetist' }, 'Anaesthetist arrived'],
    [
      { code: 'woods-screw', direction: 'anticlockwise', phase: 'start' },
      'Woods screw anticlockwise started',
    ],
    [{ code: 'arm-movement', babySide: 'left', state: 'absent' }, 'Arm movement baby’s left absent'],
  ];
  it.each(cases)('%j → %s', (entry, label) => expect(shortLabel(entry, vocabulary)).toBe(label));

  it.each(ALL_SLOTS)('has a short word for each value of %s that has one in the note', (slot) => {
    const { values, numbers, yesNo, shortValues } = slotInfo(slot);
    if (shortValues) expect(Object.keys(shortValues)).toEqual(Object.keys(values ?? numbers ?? yesNo ?? {}));
  });

  it('has one for every code, and no two codes share one', () => {
    const codes = [...vocabulary.codes.values()];
    expect(codes.filter(({ short }) => !short)).toEqual([]);
    const labels = codes.map(({ code }) => shortLabel({ code }, vocabulary));
    expect(new Set(labels).size).toBe(labels.length);
  });

  /** Which way an act went, as people say it; the act itself has one name. */
  const WAYS = new Set(['in', 'out', 'no', 'going', 'for']);
  const UNITS = new Set(['min', 'g', 'ml']);
  const words = (name: string) =>
    name
      .toLowerCase()
      .replaceAll('’', "'")
      .match(/[a-z']+/g) ?? [];

  it('call an act by no other name than the list and the note do: only words of its name', () => {
    const other = [...vocabulary.codes.values()].flatMap(({ code, label, short, shortOf }) => {
      const own = new Set([...words(label), ...WAYS]);
      return [short ?? '', ...Object.values(shortOf ?? {})].flatMap((name) =>
        words(name.replace(/\{\w+\}/g, ''))
          .filter((word) => !own.has(word) && !(code === 'apgar' && word === 'at') && !UNITS.has(word))
          .map((word) => `${code}: ${word}`),
      );
    });
    expect(other).toEqual([]);
    const said = [...landmarks.once, ...landmarks.oneValue].filter(
      ({ code, label }) => vocabulary.codes.get(code)?.label !== label,
    );
    expect(said).toEqual([]);
  });

  it('never call an examination a look', () => {
    for (const code of ['sphincter-examined', 'perineum-inspected']) {
      const { label, short } = vocabulary.codes.get(code)!;
      expect(short).toBe(label);
      expect(label).not.toMatch(/seen|looked/i);
    }
  });

  it('keeps opposites apart', () => {
    const both = (a: Entry, b: Entry) =>
      expect(shortLabel(a, vocabulary)).not.toBe(shortLabel(b, vocabulary));
    both({ code: 'meconium', present: true }, { code: 'meconium', present: false });
    both({ code: 'mcroberts', phase: 'start' }, { code: 'mcroberts', phase: 'stop' });
    both({ code: 'head-faces', side: 'left' }, { code: 'head-faces', side: 'right' });
  });

  it('shows a code of the unit by its own name', () => {
    const own = loadVocabulary({ codes: [{ code: 'unit-shrug', label: 'Shrug', say: ['unit shrug'] }] });
    expect(shortLabel({ code: 'unit-shrug' }, own)).toBe('Shrug');
  });
});
