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
  /** Ids of sources (src/core/sources.json). */
  references?: string[];
}

export const CHECKS = checks as unknown as PublishedCheck[];

/**
 * Background of the trade and terms of other bodies: no figure, rule or word of the app follows from them. They are
 * held by published-checks.test.ts, which sees that each is sourced and drives nothing.
 */
export const isBackground = ({ id }: PublishedCheck): boolean =>
  /^(side-rot-|practice-|blood-(\d|weigh|wales)|perineum-(\d|3a|3b|3c|4|rectal|50|doubt|osi)|interval-spong|pair-(rule|unlabelled|wrong|swapped)|weight-acog|apgar-(heart-100|minutes-more|clock)|unit-min|side-turns)/.test(
    id,
  ) &&
  !SPOKEN.test(id) &&
  !KEPT.test(id);
const SPOKEN = /-speech-|^perineum-5$/;
/** What the list of fields holds. */
const KEPT = /^practice-(record|pairs)/;

/** The check values of one area; the title of each test names the source. */
export const checksOf = (area: string): [string, PublishedCheck][] =>
  CHECKS.filter(
    (check) => check.area === area && check.input.spoken === undefined && !isBackground(check),
  ).map((check) => [`${check.id} [${check.tag}: ${check.source}]`, check]);

/** Fails a test whose check value has a shape that the test does not know: none may pass unread. */
export function unread(check: PublishedCheck): never {
  throw new Error(`no test reads the check ${check.id}`);
}
