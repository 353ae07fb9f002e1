import type { HearingSnapshot } from '../../app/hearing-state.ts';
import type { Listening } from '../../app/listening.svelte.ts';

const SILENT: HearingSnapshot = {
  state: { kind: 'off' },
  warning: null,
  speaking: false,
  waiting: 0,
  ignoring: false,
};

/** The hearing of this window, else what another window told of its own, else none. */
export function hearingOf(
  listening: Listening | null,
  elsewhere: HearingSnapshot | undefined,
): HearingSnapshot {
  if (listening === null) return elsewhere ?? SILENT;
  const { state, warning, speaking, waiting, ignoring } = listening;
  return { state, warning, speaking, waiting, ignoring };
}
