import checks from './checks.json' with { type: 'json' };

/** A check value with its source. `tag`: read, computed, memory (unconfirmed) or common-practice. */
export interface PublishedCheck {
  id: string;
  area: string;
  input: Record<string, unknown>;
  expected: unknown;
  tolerance: number | null;
  unit: string | null;
  source: string;
  tag: string;
}

/** The check values of one area; the title of each test names the source. */
export const checksOf = (area: string): [string, PublishedCheck][] =>
  (checks as PublishedCheck[])
    .filter((check) => check.area === area)
    .map((check) => [`${check.id} [${check.tag}: ${check.source}]`, check]);

/** Fails a test whose check value has a shape that the test does not know: none may pass unread. */
export function unread(check: PublishedCheck): never {
  throw new Error(`no test reads the check ${check.id}`);
}
