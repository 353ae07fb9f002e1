import type { RecordView } from '../log/view.ts';

/** Milliseconds that the device's clock counts more (or less) than the record's between two record times; 0 where they agree. */
export function partedMs(view: RecordView, fromMs: number, toMs: number): number {
  const [first, last] = fromMs <= toMs ? [fromMs, toMs] : [toMs, fromMs];
  return view.interruptions.reduce(
    (sum, { kind, fromMs: since, toMs: until, byMs = 0 }) =>
      kind === 'clocks-parted' && first < (until ?? Infinity) && last > since ? sum + byMs : sum,
    0,
  );
}
