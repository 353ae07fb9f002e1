import { text } from '../messages/text.ts';

/** "2026-03-05 10:00" of an ISO time, as it was on the device. */
export const drillDay = (iso: string): string => iso.slice(0, 16).replace('T', ' ');

const minus = (words: string): string => words.replace('-', '−');

/** "1.5 s", or the words for nothing. */
export const inSeconds = (ms: number | null): string =>
  ms === null ? text('practice.debrief.none') : `${minus((ms / 1000).toFixed(1))} s`;

/** "+1.5" or "−0.5": a difference in seconds, without its unit. */
export const signedSeconds = (ms: number): string => `${ms > 0 ? '+' : ''}${minus((ms / 1000).toFixed(1))}`;

/** "86 %", or the words for nothing. */
export const inPercent = (share: number | null): string =>
  share === null ? text('practice.debrief.none') : `${Math.round(share * 100)} %`;
