import type { Event, Folding } from './folding.ts';

/** The last moment that the log itself vouches for before a restart. */
export function lastKnownMs(folding: Folding, event: Event<'continued'>): number {
  const before = folding.view.events[event.seq - 1];
  return before === undefined ? event.atMs : Math.min(before.madeAtMs, event.atMs);
}

export function closeSpeechLoss(folding: Folding, toMs: number | null): void {
  const lost = folding.speechLostAtMs;
  if (lost === null) return;
  const { atMs: fromMs, why } = lost;
  const told = { kind: 'speech-unavailable', fromMs, toMs } as const;
  folding.view.interruptions.push(why === undefined ? told : { ...told, why });
  folding.speechLostAtMs = null;
}

export function closePause(folding: Folding, toMs: number | null): void {
  if (folding.pausedAtMs === null) return;
  folding.view.interruptions.push({ kind: 'paused', fromMs: folding.pausedAtMs, toMs });
  folding.pausedAtMs = null;
}

export function closeInterruptions(folding: Folding, toMs: number | null): void {
  closeSpeechLoss(folding, toMs);
  closePause(folding, toMs);
}
