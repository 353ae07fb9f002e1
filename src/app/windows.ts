import type { LogEvent } from '../core/log/events.ts';

/** What windows of the app tell each other about one record. */
export type WindowMessage =
  | { kind: 'appended'; recordId: string; events: LogEvent[] }
  | { kind: 'clock-wanted'; recordId: string }
  | { kind: 'clock'; recordId: string; recordMs: number }
  | { kind: 'hearing'; recordId: string; hearing: unknown };

/** One channel for all windows of this origin on this device. Close it when the screen goes. */
export function openWindowChannel(receive: (message: WindowMessage) => void): {
  send: (message: WindowMessage) => void;
  close: () => void;
} {
  if (typeof BroadcastChannel === 'undefined') return { send: () => {}, close: () => {} };
  const channel = new BroadcastChannel('utterlog');
  channel.onmessage = (event: MessageEvent<WindowMessage>) => receive(event.data);
  return { send: (message) => channel.postMessage(message), close: () => channel.close() };
}

/**
 * Asks the other windows for the record's present time.
 * @returns the record time and the local moment it holds for, or null when nobody answers in `waitMs`.
 */
export function askClock(
  recordId: string,
  waitMs: number,
): Promise<{ recordMs: number; performanceMs: number } | null> {
  return new Promise((resolve) => {
    const askedAt = performance.now();
    const channel = openWindowChannel((message) => {
      if (message.kind !== 'clock' || message.recordId !== recordId) return;
      const now = performance.now();
      finish({ recordMs: message.recordMs, performanceMs: (askedAt + now) / 2 });
    });
    const timer = setTimeout(() => finish(null), waitMs);
    const finish = (answer: { recordMs: number; performanceMs: number } | null) => {
      clearTimeout(timer);
      channel.close();
      resolve(answer);
    };
    channel.send({ kind: 'clock-wanted', recordId });
  });
}
