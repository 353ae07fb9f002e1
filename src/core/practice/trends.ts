import { median } from './compare.ts';
import type { Debrief } from './debrief-types.ts';
import type { DrillWay } from './drill.ts';

/** One drill on the trend plots. It is about the record that a team made; no person is named. */
export interface TrendPoint {
  recordId: string;
  startedAt: string;
  scenarioId: string;
  scenarioTitle: string;
  way: DrillWay;
  /** Share of what happened that stands in the record without a contradiction, 0 to 1; null of nothing. */
  completeness: number | null;
  /** Median of the absolute time errors, ms; null where nothing is in the record. */
  medianErrorMs: number | null;
  /** Share of what happened that was called out, 0 to 1. */
  saidAloud: number | null;
}

export interface TrendFilter {
  /** Local days, "2026-03-05", both included; empty for no bound. */
  fromDay: string;
  toDay: string;
  /** Empty for all. */
  scenarioId: string;
}

/** Medians over the drills shown. */
export interface TrendSummary {
  drills: number;
  completeness: number | null;
  medianErrorMs: number | null;
  saidAloud: number | null;
}

export function trendPoint(debrief: Debrief): TrendPoint {
  const { recordId, startedAt, scenarioId, scenarioTitle, way, counts, saidAloud, timeError } = debrief;
  const all = debrief.events.length;
  const right = counts.called + counts.late + counts.early;
  return {
    recordId,
    startedAt,
    scenarioId,
    scenarioTitle,
    way,
    completeness: all === 0 ? null : right / all,
    medianErrorMs: timeError.medianMs,
    saidAloud: all === 0 ? null : saidAloud.count / saidAloud.of,
  };
}

/** The drills that the filter lets through, oldest first. */
export function trend(points: readonly TrendPoint[], filter: TrendFilter): TrendPoint[] {
  return points
    .filter(({ startedAt, scenarioId }) => {
      const day = startedAt.slice(0, 10);
      return (
        (filter.fromDay === '' || day >= filter.fromDay) &&
        (filter.toDay === '' || day <= filter.toDay) &&
        (filter.scenarioId === '' || scenarioId === filter.scenarioId)
      );
    })
    .sort((a, b) => Date.parse(a.startedAt) - Date.parse(b.startedAt));
}

export function trendSummary(points: readonly TrendPoint[]): TrendSummary {
  const of = (value: (point: TrendPoint) => number | null) =>
    median(points.flatMap((point) => value(point) ?? []));
  return {
    drills: points.length,
    completeness: of((point) => point.completeness),
    medianErrorMs: of((point) => point.medianErrorMs),
    saidAloud: of((point) => point.saidAloud),
  };
}
