import type { lockRecord } from '../../store/records.ts';
import { text } from '../messages/text.ts';

type Refused = Exclude<Awaited<ReturnType<typeof lockRecord>>, { kind: 'ok' }>;

/** Why a record was not locked or unlocked, as a sentence. */
export function lockSentence(outcome: Refused): string {
  if (outcome.kind === 'too-short') return text('gate.problem.too-short', { shortest: outcome.shortest });
  if (outcome.kind === 'weak') return text('gate.problem.weak', { hints: outcome.hints.join(' ') }).trim();
  if (outcome.kind === 'wait')
    return text('gate.problem.wait', { seconds: Math.ceil(outcome.waitMs / 1000) });
  return text(`gate.problem.${outcome.kind}`);
}
