import { FIELD_GROUPS, FIELDS } from '../core/facts/completeness.ts';
import { minutesSeconds } from '../core/facts/logged.ts';
import { codeInfo } from '../core/vocabulary/code-info.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { OWN_CODE, OWN_ROLE } from './allowed.ts';
import type { Bounds } from './proportions.ts';
import { FEWEST, type ShownShare } from './withhold.ts';

export const WITHHELD = 'withheld';

/** "3:15" of seconds, rounded. */
export const clock = (seconds: number): string => minutesSeconds(Math.round(seconds));
export const percent = (share: number): string => `${Math.round(100 * share)} %`;
export const clockRange = ({ low, high }: Bounds): string => `${clock(low)} to ${clock(high)}`;
/** "+0:12" or "−0:12". */
export const signedClock = (seconds: number): string => (Math.round(seconds) > 0 ? '+' : '') + clock(seconds);
export const signedPoints = (points: number): string =>
  `${points > 0 ? '+' : points < 0 ? '\u2212' : ''}${Math.abs(Math.round(points))}`;

export const plain = (count: number): string => count.toLocaleString('en-GB');

/** "30 of 40 (75 %)", or as much as may be told. */
export function shareText(share: ShownShare): string {
  switch (share.kind) {
    case 'withheld':
      return WITHHELD;
    case 'under':
      return `under ${FEWEST} of ${plain(share.of)}`;
    case 'over':
      return `over ${plain(share.least)} of ${plain(share.of)}`;
    case 'exact':
      return `${plain(share.hits)} of ${plain(share.of)} (${percent(share.hits / share.of)})`;
  }
}

const capital = (words: string) => words.replace(/^./, (letter) => letter.toUpperCase());

/** Labels for the codes of the tables. */
export function labels(vocabulary: Vocabulary) {
  const roles = new Map(vocabulary.roles.map(({ role, label }) => [role, label]));
  const fields = new Map(FIELDS.map((field) => [field.id, field]));
  const places = FIELDS.map(({ id }) => id);
  const groups = new Map<string, string>(FIELD_GROUPS.map(({ id, label }) => [id, label]));
  return {
    code: (code: string) => (code === OWN_CODE ? "A code of a unit's own" : codeInfo(vocabulary, code).label),
    role: (role: string) => (role === OWN_ROLE ? "A role of a unit's own" : capital(roles.get(role) ?? role)),
    field: (id: string) => fields.get(id)?.label ?? id,
    /** Where the field stands in the note. */
    fieldPlace: (id: string) => places.indexOf(id),
    fieldGroup: (id: string) => groups.get(id) ?? id,
    /** Codes that fill a field. */
    fillers: (id: string) => (fields.get(id)?.filledBy ?? []).map(({ code }) => code),
    path: (path: string) =>
      path === 'none recorded'
        ? 'No manoeuvre recorded'
        : path
            .split(' > ')
            .map((code) =>
              code === 'more' ? 'more' : code === OWN_CODE ? 'own code' : codeInfo(vocabulary, code).label,
            )
            .join(', then '),
  };
}
export type Labels = ReturnType<typeof labels>;
