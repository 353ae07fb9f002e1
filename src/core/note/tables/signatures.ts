import type { Author } from '../../log/events.ts';
import type { Note } from '../model.ts';
import { changesAfterSigning } from '../sections/identity.ts';
import { columnsWith } from './column.ts';

interface SignatureRow {
  act: 'signature' | 'amendment' | 'release';
  seq: number;
  madeAt: string;
  name?: string;
  role?: string;
  statement?: string;
  amendedBy?: Author['kind'];
  reason?: string;
  changedAfter?: boolean;
}

export const SIGNATURE_COLUMNS = columnsWith<'signatures', SignatureRow>('signatures', {
  act: ({ act }) => act,
  event_number: ({ seq }) => seq,
  made_at: ({ madeAt }) => madeAt,
  name: ({ name }) => name,
  role: ({ role }) => role,
  statement: ({ statement }) => statement,
  amended_by: ({ amendedBy }) => amendedBy,
  reason: ({ reason }) => reason,
  changed_after: ({ changedAfter }) => changedAfter,
});

/** Signatures, amendments and releases in the order of the log. */
export function signatureRows({ view }: Note): SignatureRow[] {
  const rows: SignatureRow[] = [
    ...view.signatures.map(({ seq, madeAt, name, role, statement }) => ({
      act: 'signature' as const,
      seq,
      madeAt,
      name,
      role,
      statement,
      changedAfter: changesAfterSigning(view, seq).length > 0,
    })),
    ...view.amendments.map(({ seq, madeAt, by, reason }) => ({
      act: 'amendment' as const,
      seq,
      madeAt,
      name: by.name,
      amendedBy: by.kind,
      reason,
    })),
    ...view.releases.map(({ seq, madeAt, name, role, superseded }) => ({
      act: 'release' as const,
      seq,
      madeAt,
      name,
      role,
      changedAfter: superseded !== null,
    })),
  ];
  return rows.sort((a, b) => a.seq - b.seq);
}
