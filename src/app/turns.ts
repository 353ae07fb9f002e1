import type { Steps } from '../core/steps.ts';

/** The page must stay usable: other work gets a turn after this much of a long piece of work. */
const TURN_MS = 16;

/** A function to call between pieces of work; it waits where others are due for a turn. */
export function turnTaker(): () => Promise<void> {
  let endsMs = performance.now() + TURN_MS;
  return async () => {
    if (performance.now() <= endsMs) return;
    await new Promise((resolve) => setTimeout(resolve));
    endsMs = performance.now() + TURN_MS;
  };
}

/** Does the steps in turns with everything else that the page does. `cancelled` where the signal says so in between. */
export async function inTurns<Result>(
  steps: Steps<Result>,
  options: { onProgress?: (done: number) => void; signal?: AbortSignal; turn?: () => Promise<void> } = {},
): Promise<{ kind: 'done'; result: Result } | { kind: 'cancelled' }> {
  const turn = options.turn ?? turnTaker();
  for (;;) {
    if (options.signal?.aborted) return { kind: 'cancelled' };
    const step = steps.next();
    if (step.done) return { kind: 'done', result: step.value };
    options.onProgress?.(step.value);
    await turn();
  }
}
