import type { LaneWriter, SealVerdict } from './seal.ts';

const HEADINGS: Record<SealVerdict['kind'], string> = {
  'as-exported': 'as exported',
  shortened: 'shortened',
  changed: 'changed',
  're-sealed': 're-sealed',
  'not-signed': 'not signed',
};

/** The first digits of a public key, enough to tell devices apart by eye. */
export const keyDigits = (publicKey: string): string => publicKey.slice(0, 12);

/** What was checked and what came of it, in sentences that claim no more than that. */
export function describeSeal(verdict: SealVerdict): string {
  const { head, events, writers } = verdict;
  return [
    HEADINGS[verdict.kind],
    sentence(verdict),
    `head ${head}`,
    `events ${events}`,
    ...writers.map(writerText),
  ].join('\n');
}

const writerText = ({ lane, publicKey, events }: LaneWriter): string =>
  publicKey === null
    ? `lane ${lane}: ${events} events, not signed`
    : `lane ${lane}: ${events} events, device key ${keyDigits(publicKey)}`;

const since = (added: number | null): string => {
  if (added === null)
    return ' Sealing it again with the same device, and leaving out its end before the export, show only against the head of an earlier print.';
  return added === 0
    ? ' Its head is that of the earlier print.'
    : ` It holds the record of the earlier print unchanged, and ${added} later events.`;
};

function sentence(verdict: SealVerdict): string {
  switch (verdict.kind) {
    case 'as-exported':
      return `Every event follows from the one before it, carries the signature of its device, and the file ends as it was exported. The signatures tell devices, not people.${since(verdict.addedSinceHead)}`;
    case 'not-signed':
      return `No change was found, but ${verdict.why}.${since(verdict.addedSinceHead)}`;
    default:
      return `${verdict.event === undefined ? 'The file' : `Event ${verdict.event}`}: ${verdict.why}.`;
  }
}
