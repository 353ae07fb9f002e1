import type { RecordSummary } from '../../store/records.ts';

export const MODES = ['all', 'real', 'practice'] as const;
export const STATES = ['all', 'unfinished', 'finished', 'signed'] as const;
export type ModeFilter = (typeof MODES)[number];
export type StateFilter = (typeof STATES)[number];

/** Where a record stands: being recorded, finished and to be signed, or signed without a later change. */
export const stateOf = ({ finished, signed }: RecordSummary): Exclude<StateFilter, 'all'> =>
  signed ? 'signed' : finished ? 'finished' : 'unfinished';

/**
 * The records that pass all filters, in the order given.
 * @param search words that must all be found in the reference, the date, the id or the entries' names.
 * @param labelOf the name of an entry code, as it is shown.
 */
export function filterRecords(
  records: readonly RecordSummary[],
  filter: { mode: ModeFilter; state: StateFilter; search: string },
  labelOf: (code: string) => string,
): RecordSummary[] {
  const words = filter.search.toLocaleLowerCase('en-GB').split(/\s+/).filter(Boolean);
  return records.filter((record) => {
    if (filter.mode !== 'all' && record.mode !== filter.mode) return false;
    if (filter.state !== 'all' && stateOf(record) !== filter.state) return false;
    if (words.length === 0) return true;
    const { reference, createdAt, recordId, codes } = record;
    const text = `${reference} ${createdAt.slice(0, 10)} ${recordId} ${codes.map(labelOf).join(' ')}`;
    const searched = text.toLocaleLowerCase('en-GB');
    return words.every((word) => searched.includes(word));
  });
}

/** Which rows of equal height a scrolled window shows, with some to spare so that none is late. */
export function windowOf(
  count: number,
  rowPx: number,
  scrollPx: number,
  heightPx: number,
): { first: number; last: number } {
  const SPARE = 6;
  const first = Math.max(0, Math.floor(scrollPx / rowPx) - SPARE);
  const last = Math.min(count, Math.ceil((scrollPx + heightPx) / rowPx) + SPARE);
  return { first: Math.min(first, last), last };
}
