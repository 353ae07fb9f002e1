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
 * from the device's wall clock alone; a clock that was set back never lets record time run backwards.
 */
export function continuedSpan(
  spans: readonly ClockSpan[],
  lastKnownMs: number,
  wallNowMs: number,
): ClockSpan {
  const last = spans[spans.length - 1]!;
  const byWallMs = last.startMs + (wallNowMs - last.wallMs);
  return { spanId: last.spanId + 1, startMs: Math.max(byWallMs, lastKnownMs), wallMs: wallNowMs };
}
