import { talkVersions, type TalkWritten } from '../talk-versions.ts';
import type { ConversationView } from '../../log/view.ts';
import { authorText } from '../lines.ts';
import { NOT_RECORDED, type Block, type Section } from '../model.ts';
import { longDate, madeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

type Told = Omit<TalkWritten, 'kind'> | ConversationView;

const told = (words: string) => words.trim() || NOT_RECORDED;

/** "16 October 2026, 10:30" of what was typed as "2026-10-16T10:30"; words that are no such time stand as they are. */
export function heldText(heldAt: string): string {
  const day = /^(\d{4}-(?:0[1-9]|1[0-2])-\d{2})T(\d{2}:\d{2})/.exec(heldAt);
  return day === null ? told(heldAt) : `${longDate(day[1]!)}, ${day[2]!}`;
}

const between = ({ who, withWhom }: Told) => `${told(who)}, with ${told(withWhom)}`;

const parts = (talk: Told) => [
  { label: 'Explained', value: told(talk.explained) },
  { label: 'Asked', value: told(talk.asked) },
  { label: 'Agreed for follow-up', value: told(talk.followUp) },
  { label: 'For a next pregnancy', value: told(talk.nextPregnancy) },
];

/** Each talk with the family under its own date, with what stood before a correction. Absent where there is none. */
export function talksSection({ view }: NoteParts): Section[] {
  if (view.conversations.length === 0) return [];
  const first = view.signatures[0]?.seq ?? Infinity;
  const last = view.signatures.at(-1)?.seq ?? Infinity;
  const written = ({ seq, madeAt, by }: Told) =>
    `written on ${madeText(madeAt)} by ${authorText(by)}${seq > first ? ', AFTER SIGNING' : ''}${seq > last ? ', NOT COVERED by the signatures' : ''}`;
  const blocks = view.conversations.flatMap((talk): Block[] => {
    const before = talkVersions(view, talk.conversationId).slice(0, -1);
    const items = before.map(
      (old) =>
        `Before correction (${written(old)}): talk on ${heldText(old.heldAt)}; ${between(old)}; ${parts(old)
          .map(({ label, value }) => `${label.toLowerCase()}: ${value}`)
          .join('; ')}`,
    );
    return [
      {
        kind: 'pairs',
        pairs: [
          { label: `Talk on ${heldText(talk.heldAt)}`, value: between(talk), remark: written(talk) },
          ...parts(talk),
        ],
      },
      ...(items.length > 0 ? [{ kind: 'list', items } as const] : []),
    ];
  });
  return [{ id: 'talks', title: 'Talks with the family', blocks }];
}
