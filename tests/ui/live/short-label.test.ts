import { describe, expect, it } from 'vitest';
import codes from '../../../src/core/vocabulary/codes.json';
import labels from '../../../src/core/vocabulary/labels.json';
import messages from '../../../src/ui/messages/en.json';
import type { Entry } from '../../../src/core/entry.ts';
import { shortLabel } from '../../../src/ui/live/short-label.ts';

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
    [{ code: 'role-arrived', role: 'anaesthetist' }, 'Anaesthetist here'],
    [
      { code: 'woods-screw', direction: 'anticlockwise', phase: 'start' },
      'Woods screw anticlockwise started',
    ],
    [{ code: 'arm-movement', babySide: 'left', state: 'absent' }, 'Arm baby’s left absent'],
  ];
  it.each(cases)('%j → %s', (entry, label) => expect(shortLabel(entry)).toBe(label));

  it.each(['phase', 'style', 'direction', 'bone', 'vessel', 'method', 'state', 'decision'] as const)(
    'says the %s in the words of the note',
    (slot) => expect(messages.live.slot[slot]).toEqual(labels[slot]),
  );

  it('has one for every code, and no two codes share one', () => {
    const labels = codes.map(({ code, label }) => shortLabel({ code }, `missing ${label}`));
    expect(labels.filter((label) => label.startsWith('missing'))).toEqual([]);
    expect(new Set(labels).size).toBe(labels.length);
  });

  it('keeps opposites apart', () => {
    const both = (a: Entry, b: Entry) => expect(shortLabel(a)).not.toBe(shortLabel(b));
    both({ code: 'meconium', present: true }, { code: 'meconium', present: false });
    both({ code: 'mcroberts', phase: 'start' }, { code: 'mcroberts', phase: 'stop' });
    both({ code: 'head-faces', side: 'left' }, { code: 'head-faces', side: 'right' });
  });

  it('shows a code of the unit by its own name', () => {
    expect(shortLabel({ code: 'unit-shrug' }, 'Shrug')).toBe('Shrug');
  });
});
