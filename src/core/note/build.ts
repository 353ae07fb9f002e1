import type { Facts } from '../facts/derive.ts';
import type { RecordFile } from '../log/events.ts';
import type { RecordView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { noteLines } from './lines.ts';
import type { Note } from './model.ts';
import { changesSection, howHeardSection, signaturesSection } from './sections/audit.ts';
import { conflictSection, manoeuvreSection } from './sections/findings.ts';
import { identitySection } from './sections/identity.ts';
import { intervalSection, keyTimesSection } from './sections/key-times.ts';
import { logSections } from './sections/log.ts';
import { notRecordedSection } from './sections/not-recorded.ts';
import { pageSections } from './sections/page.ts';
import { talksSection } from './sections/talks.ts';

/** Standing words of every note. They say how to read it and tell nobody what to do. */
function cautionsOf({ clockOffset }: RecordView): string[] {
  const shown =
    clockOffset === null ? '' : `, printed as the ${clockOffset.against || 'room clock'} shows them`;
  return [
    `Record aid. Does not advise, time or direct care. Local protocol and the clinician in charge decide. Times are from this device's clock${shown}. In brackets after a time: minutes and seconds from the birth of the head. Lengths are differences of the printed times; \u201cat most\u201d: no end was called out. Left and right are the mother's unless a line says the baby's or the operator's.`,
  ];
}

/**
 * The note of a record. Pure: the same record gives the same note, byte for byte. Page one first, what is not
 * recorded in one list, then the log, and last the talks of the days after.
 * @param vocabulary with the unit's own words, where there are any.
 * @param options.howHeard adds how each line was heard: both readings, sound times. Left out of the copy that is
 *   meant for the record, since readings may be misheard words; the record's own JSON always holds them.
 */
export function buildNote(
  file: RecordFile,
  view: RecordView,
  facts: Facts,
  vocabulary: Vocabulary,
  options: { howHeard?: boolean } = {},
): Note {
  const practice = view.mode === 'practice';
  const lines = noteLines(view, vocabulary);
  const parts = { file, view, facts, vocabulary, lines };
  return {
    title: practice ? 'Practice record \u2013 not a real birth' : 'Record of events at a birth',
    practice,
    sections: [
      identitySection(parts),
      keyTimesSection(parts),
      intervalSection(parts),
      ...conflictSection(parts),
      manoeuvreSection(parts),
      ...pageSections(parts),
      signaturesSection(parts),
      ...notRecordedSection(parts),
      ...logSections(parts),
      changesSection(parts),
      ...(options.howHeard ? [howHeardSection(parts)] : []),
      ...talksSection(parts),
    ],
    cautions: cautionsOf(view),
    ...parts,
  };
}
