import type { ClockSpan } from '../core/log/events.ts';

/**
 * The record's clock in this window: milliseconds since the record began, from the browser's
 * monotonic clock, so that a changed system clock cannot move an interval.
 */
export interface RecordClock {
  nowMs(): number;
  /** Record time of a moment of this window's `performance.now()`. */
  atPerformanceMs(performanceMs: number): number;
}

/** A clock that reads `recordMs` at `performanceMs`. */
export function clockFrom(recordMs: number, performanceMs: number): RecordClock {
  const atPerformanceMs = (ms: number) => recordMs + ms - performanceMs;
  return { atPerformanceMs, nowMs: () => atPerformanceMs(performance.now()) };
}

/**
 * The span that begins when a record is taken up again after the browser stopped. The gap is known
 * from the device's wall clock alone, from the `last` moment that the log vouches for (so that a sleep before it, which
 * the log tells of itself, is not counted again); a clock that was set back never lets record time run backwards.
 */
export function continuedSpan(
  spans: readonly ClockSpan[],
  last: { atMs: number; wallMs: number },
  wallNowMs: number,
): ClockSpan {
  const byWallMs = last.atMs + (wallNowMs - last.wallMs);
  const { spanId } = spans[spans.length - 1]!;
  return { spanId: spanId + 1, startMs: Math.max(byWallMs, last.atMs), wallMs: wallNowMs };
}
