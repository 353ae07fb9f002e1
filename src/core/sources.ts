import data from './sources.json';

/** A published source as a clinician cites it, and in which form it was read. */
export interface Source {
  id: string;
  authors?: string[];
  title: string;
  container?: string;
  year?: number;
  volume?: string;
  pages?: string;
  doi?: string;
  pmid?: string;
  /** Issuing body, where that is not the author. */
  body?: string;
  /** What of it was read. */
  read: string;
}

export const SOURCES = data as readonly Source[];
const byId = new Map(SOURCES.map((source) => [source.id, source]));

/** @throws Error where no source has this id. */
export function sourceOf(id: string): Source {
  const found = byId.get(id);
  if (found === undefined) throw new Error(`No source is named "${id}".`);
  return found;
}

/** "Lang W, Zander R. The accuracy of …. Clinical Chemistry … 2002;40(4):404-410. doi:10.1515/…. Read: abstract." */
export function cite(id: string): string {
  const { authors = [], title, container, year, volume, pages, doi, pmid, body, read } = sourceOf(id);
  const who = authors.length > 3 ? `${authors.slice(0, 3).join(', ')}, et al` : authors.join(', ');
  const issue = [volume, pages].filter((part) => part !== undefined).join(':');
  const when = [year === undefined ? undefined : String(year), issue || undefined].filter(Boolean).join(';');
  const place = [container, when].filter((part) => part !== undefined && part !== '').join(' ');
  const named = doi !== undefined ? `doi:${doi}` : pmid !== undefined ? `PMID ${pmid}` : undefined;
  const issuer = body !== undefined && !authors.includes(body) ? body : undefined;
  return [who, title, place, issuer, named, `Read: ${read}`]
    .filter((part): part is string => part !== undefined && part !== '')
    .map((part) => part.replace(/\.$/, ''))
    .join('. ')
    .concat('.');
}
