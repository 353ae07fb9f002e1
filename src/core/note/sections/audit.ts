import type { EntryChange } from '../../log/view.ts';
import { authorText, eventAt, reasonText } from '../lines.ts';
import { NOT_RECORDED, type NoteLine, type Section } from '../model.ts';
import { phrase } from '../phrase.ts';
import { lengthText, madeText, timeText } from '../times.ts';
import { changesAfterSigning, proofPairs } from './identity.ts';
import type { NoteParts } from './parts.ts';

/** What was changed and when nobody listened, or that neither happened. */
export function changesSection(parts: NoteParts): Section {
  const or = (items: string[], none: string) => (items.length > 0 ? items : [none]);
  const items = [
    ...or(changeItems(parts), 'No entry was changed or struck out.'),
    ...or(gapItems(parts), 'No gap in listening is recorded.'),
  ];
  return { id: 'changes', title: 'Corrections and gaps', blocks: [{ kind: 'list', items }] };
}

/** Every strike-out, correction and shift, with what stood before, by whom, when and why. */
function changeItems({ view, lines, vocabulary }: NoteParts): string[] {
  const signedAt = view.signatures[0]?.seq ?? Infinity;
  const changes = lines.flatMap((line) => line.entry.changes.map((change) => ({ line, change })));
  changes.sort((a, b) => a.change.seq - b.change.seq);
  const items = changes.map(({ line, change }) => {
    const was = `${phrase(change.entry, vocabulary)} (${timeText(view, change.atMs)})`;
    const after = change.seq > signedAt ? ' AFTER SIGNING' : '';
    return `No. ${line.number}: ${was} ${whatHappened(line, change)} by ${authorText(change.by)} on ${madeText(change.madeAt)}${after}. Reason: ${reasonText(change.reason)}.`;
  });
  function whatHappened({ entry }: NoteLine, { kind, seq }: EntryChange): string {
    switch (kind) {
      case 'strike':
        return 'struck out';
      case 'restore':
        return 'taken up again';
      case 'replace': {
        const later = entry.changes.find((next) => next.seq > seq && next.kind === 'replace');
        return `replaced by ${phrase(later?.entry ?? entry.entry, vocabulary)}`;
      }
      case 'shift': {
        const later = entry.changes.find((next) => next.seq > seq && next.kind === 'shift');
        return `moved to ${timeText(view, later?.atMs ?? entry.atMs)}`;
      }
    }
  }
  for (const { seq, why } of view.withoutEffect) {
    items.push(`Event ${seq} of the log had no effect: ${why}.`);
  }
  return items;
}

const INTERRUPTIONS = {
  restart: 'The browser or device stopped; the gap is known from the device clock alone',
  'speech-unavailable': 'Speech was not being recognised',
  paused: 'Listening was paused',
  'clocks-parted': 'The device slept or its clock was set (which of the two cannot be told)',
};

const partedText = (byMs: number): string =>
  `; the device's clock then went ${lengthText(byMs)} ${byMs < 0 ? 'back against' : 'further than'} the record's, later times are by the record's clock and intervals across it have two figures`;

function gapItems({ view }: NoteParts): string[] {
  const items = view.interruptions.map(({ kind, fromMs, toMs, why, byMs }) => {
    const until = toMs === null ? `end ${NOT_RECORDED}` : `to ${timeText(view, toMs)}`;
    return `${INTERRUPTIONS[kind]}: from ${timeText(view, fromMs)} ${until}${why ? ` (${why})` : ''}${byMs === undefined ? '' : partedText(byMs)}.`;
  });
  if (view.standby !== undefined)
    items.unshift(
      `The record was begun by ${view.standby.by} in standby, which had listened since ${timeText(view, view.standby.sinceMs)}. What was heard before that moment is marked so; call-outs older than three minutes were not kept.`,
    );
  return items;
}

/** Who signed what, and by which marks this very record is known again. */
export function signaturesSection({ view, file }: NoteParts): Section {
  const told = [
    ...view.signatures.map(({ seq, name, role, statement, madeAt }) => ({
      seq,
      text: `Signed on ${madeText(madeAt)} by ${name}, ${role || `role ${NOT_RECORDED}`}: \u201c${statement || NOT_RECORDED}\u201d (covers the log up to event ${seq}).`,
    })),
    ...view.amendments.map(({ seq, reason, madeAt, by }) => ({
      seq,
      text: `Opened for amendment on ${madeText(madeAt)} by ${authorText(by)}. Reason: ${reasonText(reason)}.`,
    })),
    ...view.releases.map(({ seq, name, role, madeAt, superseded }) => ({
      seq,
      text: `Account for the parents read and released on ${madeText(madeAt)} by ${name}, ${role}${superseded === null ? '' : `; OUT OF DATE since ${madeText(superseded.madeAt)}`}.`,
    })),
  ].sort((a, b) => a.seq - b.seq);
  const items = told.map(({ text }) => text);
  const changes = changesAfterSigning(view);
  if (changes.length > 0) {
    const many = changes.length === 1 ? '1 event changes' : `${changes.length} events change`;
    const first = `event ${changes[0]!.seq}, ${madeText(changes[0]!.madeAt)}`;
    items.push(
      `AFTER THE LAST SIGNATURE ${many} this record (first: ${first}). After signing, not covered by it.`,
    );
    const amended = view.amendments.some(({ seq }) => seq > view.signatures.at(-1)!.seq);
    if (!amended) items.push('No reason for them was given.');
  }
  return {
    id: 'signatures',
    title: 'Signatures and proof of the record',
    blocks: [
      { kind: 'list', items: items.length > 0 ? items : ['Not signed.'] },
      { kind: 'pairs', pairs: proofPairs(file) },
    ],
  };
}

/** Number by number: what was heard in both readings and when, or who typed it. Struck entries too. */
export function howHeardSection({ view, lines }: NoteParts): Section {
  const signedAt = view.signatures[0]?.seq ?? Infinity;
  const lastSignedAt = view.signatures.at(-1)?.seq ?? Infinity;
  const items = lines.map(({ number, entry, provenance }) => {
    const struck = entry.status === 'struck' ? 'STRUCK OUT; ' : '';
    const made = eventAt(view, entry.confirmedBy === undefined ? entry.history[0]! : entry.history[1]!);
    const when = entry.addedLater && entry.timing !== 'typed' ? `; entered on ${madeText(made.madeAt)}` : '';
    const uncovered = made.seq > lastSignedAt ? ', NOT COVERED' : '';
    const after = made.seq > signedAt ? `, AFTER SIGNING${uncovered}` : '';
    return `No. ${number}: ${struck}${provenance.join('; ')}${when}${after}.`;
  });
  return {
    id: 'how-heard',
    title: 'How each line was heard',
    blocks: [items.length > 0 ? { kind: 'list', items } : { kind: 'text', text: 'No entries.' }],
  };
}
