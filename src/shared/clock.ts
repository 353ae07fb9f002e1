import type { NatsConnection } from '@nats-io/nats-core';
import { subjects } from './subjects.ts';

/** The record's clock as another device has it: `recordMs` at this window's `performanceMs`, sure to `± withinMs`. */
export interface MeasuredClock {
  recordMs: number;
  performanceMs: number;
  withinMs: number;
}

/** A clock that is less sure than this is not taken: the device is refused. */
export const SURE_MS = 50;
const ROUND_TRIPS = 12;

/**
 * Asks another device for the record's time. Of several round trips the shortest counts: the answer was made
 * somewhere between asking and hearing, so half the trip is what can be wrong with it (D. L. Mills, RFC 5905, 8).
 * @returns null where nobody answers.
 */
export async function measureClock(
  nc: Pick<NatsConnection, 'request'>,
  recordId: string,
  lane: string,
  trips = ROUND_TRIPS,
): Promise<MeasuredClock | null> {
  let best: MeasuredClock | null = null;
  for (let trip = 0; trip < trips; trip++) {
    const askedMs = performance.now();
    try {
      const answer = await nc.request(subjects.clock(recordId, lane), '', { timeout: 1000 });
      const heardMs = performance.now();
      const { recordMs } = answer.json<{ recordMs: number }>();
      const withinMs = (heardMs - askedMs) / 2;
      if (!Number.isFinite(recordMs)) continue;
      if (best === null || withinMs < best.withinMs)
        best = { recordMs, performanceMs: (askedMs + heardMs) / 2, withinMs };
    } catch {
      // Not there, or too slow: what the other trips say counts.
      if (best === null && trip >= 2) return null;
    }
  }
  return best;
}
