import type { DraftProblem } from '../entry-form/entry-draft.ts';
import { text } from '../messages/text.ts';

/** Why a typed value was not taken, as a sentence. */
export function refusal(problem: DraftProblem | undefined, what: string): string | undefined {
  if (!problem) return undefined;
  switch (problem.why) {
    case 'out-of-range': {
      const { min: low, max: high } = problem.range;
      const number = (value: number) => String(value).replace('-', '−');
      return text('desk.refused.outOfRange', {
        what,
        typed: problem.typed,
        low: number(low),
        high: number(high),
      });
    }
    case 'not-a-number':
      return text('desk.refused.notANumber', { what, typed: problem.typed });
    case 'not-whole':
      return text('desk.refused.notWhole', { what, typed: problem.typed });
    case 'unit-missing':
      return text('desk.refused.unitMissing', { what });
    case 'sign-missing':
      return text('desk.refused.signMissing', { what });
    case 'missing':
      return text('desk.refused.missing', { what });
    case 'nothing-given':
      return text('desk.refused.nothingGiven');
  }
}
