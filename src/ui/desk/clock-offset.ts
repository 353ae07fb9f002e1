/** Room clock minus device clock as typed, e.g. "+1:30" or "−45"; '' where none is entered. */
export function offsetText(ms: number | null): string {
  if (ms === null) return '';
  const seconds = Math.round(Math.abs(ms) / 1000);
  return `${ms < 0 ? '−' : '+'}${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

/** Largest difference taken, a day: two clocks that far apart are in different zones, not out of step. */
const LARGEST_MS = 86_400_000;

/**
 * Milliseconds of a typed difference: minutes and seconds "1:30", or seconds "90", with a sign.
 * Null clears it; a difference without a sign is refused, because its direction would be guessed.
 */
export function offsetMs(typed: string): number | null | 'refused' {
  const clean = typed.trim().replace(/^[−–]/, '-');
  if (clean === '') return null;
  if (/^0+(:00)?$/.test(clean)) return 0;
  const match = /^([+-])(?:(\d{1,4}):)?(\d{1,5})$/.exec(clean);
  if (!match || (match[2] !== undefined && Number(match[3]) > 59)) return 'refused';
  const ms = (Number(match[2] ?? 0) * 60 + Number(match[3])) * 1000;
  if (ms > LARGEST_MS) return 'refused';
  return match[1] === '-' ? -ms : ms;
}
