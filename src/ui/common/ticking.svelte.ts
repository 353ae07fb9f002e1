import { onDestroy } from 'svelte';

/** How often the running clocks are brought up to date: often enough that no second is seen late. */
const EVERY_MS = 200;

/** A time that follows `readMs` while the component stands. */
export function ticking(readMs: () => number): { readonly ms: number } {
  let ms = $state(readMs());
  const timer = setInterval(() => (ms = readMs()), EVERY_MS);
  onDestroy(() => clearInterval(timer));
  return {
    get ms() {
      return ms;
    },
  };
}
