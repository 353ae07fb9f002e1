import type { Entry } from '../../entry.ts';
import { problemInfo } from '../../slots.ts';
import type { NoteLine, Section } from '../model.ts';
import { heardText } from '../lines.ts';
import { phrase } from '../phrase.ts';
import { fromHead, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** Entries in time order: those made at the time, apart from those added later; then what is still open. */
export function logSections(parts: NoteParts): Section[] {
  const { lines } = parts;
  const standing = lines.filter(({ entry }) => entry.status === 'logged');
  const atTheTime = standing.filter(({ entry }) => !entry.addedLater);
  const later = standing.filter(({ entry }) => entry.addedLater);
  return [
    section('as-called', 'As called out at the time', atTheTime, 'Nothing was called out.'),
    section('added-later', 'Added later', later, 'Nothing was added later.'),
    openSection(parts),
  ];
}

function section(id: string, title: string, lines: NoteLine[], none: string): Section {
  return { id, title, blocks: [lines.length > 0 ? { kind: 'lines', lines } : { kind: 'text', text: none }] };
}

/** Questions without an answer, times marked without a name, and how much was heard without being logged. */
function openSection({ view, vocabulary }: NoteParts): Section {
  const utterances = new Map(view.utterances.map((u) => [u.utteranceId, u]));
  const items: string[] = [];
  for (const question of view.questions) {
    if (question.state !== 'open') continue;
    const reading = (entries: Entry[]) => entries.map((entry) => phrase(entry, vocabulary)).join(' and ');
    const readings = [question.entries, ...question.alternatives.map(({ entries }) => entries)].map(reading);
    const heard = question.utteranceId === undefined ? undefined : utterances.get(question.utteranceId);
    const words = heard === undefined ? '' : `; ${heardText(view, heard)}`;
    items.push(
      `Asked and not answered, ${at(question.atMs)}: ${readings.join(', or: ') || 'no reading'}; asked because ${problemInfo(question.problem).note}${words}`,
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
    items.push(
      `${many} ${how} and not understood; kept with words and times in the record, not printed here.`,
    );
  }
  function at(atMs: number): string {
    return `${timeText(view, atMs)} (from head: ${fromHead(view, atMs)})`;
  }
  return {
    id: 'open',
    title: 'Heard and not entered',
    blocks: [items.length > 0 ? { kind: 'list', items } : { kind: 'text', text: 'Nothing.' }],
  };
}
