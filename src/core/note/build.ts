import type { Facts } from '../facts/derive.ts';
import type { RecordFile } from '../log/events.ts';
import type { RecordView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { noteLines } from './lines.ts';
import type { Note } from './model.ts';
import { auditSections } from './sections/audit.ts';
import { fieldSections } from './sections/fields.ts';
import { identitySection } from './sections/identity.ts';
import { keyTimesSection } from './sections/key-times.ts';
import { logSections } from './sections/log.ts';
import { conflictSection, manoeuvreSection, sidesSection } from './sections/findings.ts';

/** Standing words of every note. */
function cautionsOf({ clockOffset }: RecordView): string[] {
  const shown =
    clockOffset === null ? '' : `, printed as the ${clockOffset.against || 'room clock'} shows them`;
  return [
    `Record aid. Does not advise, time or direct care. Local protocol and the clinician in charge decide. Times are from this device's clock${shown}. Check every line before it enters the record.`,
    'Intervals are differences of the printed times. Nothing is filled in: what nobody gave is "not recorded". Left and right are the mother\'s unless a line says the baby\'s.',
  ];
}

/**
 * The note of a record. Pure: the same record gives the same note, byte for byte.
 * @param vocabulary with the unit's own words, where there are any.
 */
export function buildNote(file: RecordFile, view: RecordView, facts: Facts, vocabulary: Vocabulary): Note {
  const practice = view.mode === 'practice';
  const lines = noteLines(view, vocabulary);
  const parts = { file, view, facts, vocabulary, lines };
  return {
    title: practice ? 'Practice record \u2013 not a real birth' : 'Record of events at a birth',
    practice,
    sections: [
      identitySection(parts),
      keyTimesSection(parts),
      { id: 'timeline', title: 'Timeline', blocks: [{ kind: 'timeline' }] },
      conflictSection(parts),
      manoeuvreSection(parts),
      sidesSection(parts),
      ...logSections(parts),
      ...fieldSections(parts),
      ...auditSections(parts),
    ],
    cautions: cautionsOf(view),
    ...parts,
  };
}
