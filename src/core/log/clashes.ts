import { canonicalJson } from './canonical.ts';
import type { EventBody, LogEvent } from './events.ts';
import type { Knowledge } from './lanes.ts';

/** What of an entry two devices changed without knowing of each other; `versions` in the order of the record. */
export interface Clash {
  of: 'content' | 'time';
  versions: LogEvent[];
}

const TOUCHES = {
  content: ['replace', 'strike', 'restore'],
  time: ['shift', 'strike', 'restore'],
} as const;

/** The newest changes of one entry: each was made without knowledge of the others. */
export interface Versions {
  content: LogEvent[];
  time: LogEvent[];
}

/** Follows one change of an entry. Who knew of earlier changes when making theirs has settled them. */
export function noteVersion(
  knowledge: Knowledge | null,
  all: Map<string, Versions>,
  entryId: string,
  event: LogEvent,
): void {
  if (knowledge === null) return;
  const versions = all.get(entryId) ?? { content: [], time: [] };
  all.set(entryId, versions);
  for (const of of ['content', 'time'] as const) {
    if (!(TOUCHES[of] as readonly string[]).includes(event.kind)) continue;
    versions[of] = [...unknownTo(knowledge, event, versions[of]), event];
  }
}

const unknownTo = ({ knew }: Knowledge, event: LogEvent, earlier: readonly LogEvent[]): LogEvent[] =>
  earlier.filter((other) => !knew(event, other));

const effectOf = (event: LogEvent): string =>
  event.kind === 'replace'
    ? canonicalJson(event.entry)
    : event.kind === 'shift'
      ? String(event.atMs)
      : event.kind;

/** What is left to settle: versions that say different things. */
export const clashesOf = (versions: Versions | undefined): Clash[] =>
  (['content', 'time'] as const).flatMap((of): Clash[] => {
    const open = versions?.[of] ?? [];
    // Struck out here and restored there, with nothing else changed, is told by the entry's own history.
    const differ = new Set(open.map(effectOf)).size > 1;
    const changed = open.some(({ kind }) => kind === 'replace' || kind === 'shift');
    return differ && changed ? [{ of, versions: open }] : [];
  });

/** The events by which a person who sees all versions lets one of them hold; `struck`: how the entry stands now. */
export function settleBy(entryId: string, version: LogEvent, struck: boolean): EventBody[] {
  const strike: EventBody = { kind: 'strike', entryId };
  const restore: EventBody = { kind: 'restore', entryId };
  switch (version.kind) {
    case 'strike':
      return struck ? [restore, strike] : [strike];
    case 'restore':
      return struck ? [restore] : [strike, restore];
    case 'replace':
      return [...(struck ? [restore] : []), { kind: 'replace', entryId, entry: version.entry }];
    case 'shift': {
      const { atMs, estimated } = version;
      return [
        ...(struck ? [restore] : []),
        { kind: 'shift', entryId, atMs, ...(estimated ? { estimated } : {}) },
      ];
    }
    default:
      return [];
  }
}
