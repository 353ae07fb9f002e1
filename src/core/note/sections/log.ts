import type { Entry } from '../../entry.ts';
import { aroundBirth } from '../../log/time-bounds.ts';
import { problemInfo } from '../../slots.ts';
import type { NoteLine, Section } from '../model.ts';
import { phrase } from '../phrase.ts';
import { fromHead, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/**
 * Entries in time order: those made at the time, apart from those added later, apart from those of another day than
 * the birth; then what is still open.
 */
export function logSections(parts: NoteParts): Section[] {
  const { lines, view } = parts;
  const all = lines.filter(({ entry }) => entry.status === 'logged');
  const standing = all.filter(({ entry }) => aroundBirth(view, entry.atMs));
  const apart = all.filter(({ entry }) => !aroundBirth(view, entry.atMs));
  const atTheTime = standing.filter(({ entry }) => !entry.addedLater);
  const later = standing.filter(({ entry }) => entry.addedLater);
  return [
    ...(atTheTime.length > 0
      ? section('as-called', 'Log, as called out at the time', atTheTime)
      : [
          {
            id: 'as-called',
            title: 'Log, as called out at the time',
            blocks: [{ kind: 'text', text: 'Nothing was called out.' } as const],
          },
        ]),
    ...(later.length > 0 ? section('added-later', 'Added later', later) : []),
    ...(apart.length > 0
      ? section('dated-apart', 'More than 24 hours before or after the birth, each with its date', apart)
      : []),
    ...openSection(parts),
  ];
}

const section = (id: string, title: string, lines: NoteLine[]): Section[] => [
  { id, title, blocks: [{ kind: 'lines', lines }] },
];

/** Questions without an answer, times marked without a name, and how much was heard without being logged. */
function openSection({ view, vocabulary }: NoteParts): Section[] {
  const items: string[] = [];
  for (const question of view.questions) {
    if (question.state !== 'open') continue;
    const reading = (entries: Entry[]) => entries.map((entry) => phrase(entry, vocabulary)).join(' and ');
    const readings = [question.entries, ...question.alternatives.map(({ entries }) => entries)].map(reading);
    if (question.strikes !== undefined) {
      items.push(
        `Asked and not answered, ${at(question.atMs)}: whether to strike out ${reading(question.entries)}; it stands`,
      );
      continue;
    }
    items.push(
      `Asked and not answered, ${at(question.atMs)}: ${readings.join(', or: ') || 'no reading'}; asked because ${problemInfo(question.problem).note}`,
    );
  }
  const named = new Set(view.entries.map((e) => e.atMs));
  for (const { atMs } of view.marks) {
    if (!named.has(atMs)) items.push(`Time marked and not named: ${at(atMs)}`);
  }
  const unread = view.utterances.filter((u) => u.outcome === 'unrecognised' && u.entryIds.length === 0);
  if (unread.length > 0) {
    const many = unread.length === 1 ? '1 utterance was' : `${unread.length} utterances were`;
    const how = unread.some(({ typedBy }) => typedBy) ? 'heard or typed' : 'heard';
    items.push(`${many} ${how} and not understood; kept with words and times in the record's JSON.`);
  }
  function at(atMs: number): string {
    return `${timeText(view, atMs)} (from head: ${fromHead(view, atMs)})`;
  }
  if (items.length === 0) return [];
  return [{ id: 'open', title: 'Heard and not entered', blocks: [{ kind: 'list', items }] }];
}
