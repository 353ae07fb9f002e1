/** What a tone tells. Each differs in rhythm and direction, so that it is known without its pitch. */
export type Tone = 'logged' | 'ask' | 'unheard' | 'warning';

/** Notes as [start s, length s, Hz]. logged: one long high note; ask: two that rise; unheard: two low and short. */
const NOTES: Record<Tone, [number, number, number][]> = {
  logged: [[0, 0.22, 988]],
  ask: [
    [0, 0.12, 587],
    [0.18, 0.2, 880],
  ],
  unheard: [
    [0, 0.09, 220],
    [0.16, 0.09, 196],
  ],
  warning: [
    [0, 0.15, 440],
    [0.25, 0.15, 440],
    [0.5, 0.15, 440],
  ],
};
const EDGE_SECONDS = 0.012;

let context: AudioContext | undefined;

/** A browser lets sound begin only from a touch or a key: call this there. */
export function allowTones(): void {
  if (typeof AudioContext === 'undefined') return;
  context ??= new AudioContext();
  if (context.state === 'suspended') void context.resume();
}

/** Plays a tone at `volume` 0 to 1. Does nothing where sound was not allowed yet. */
export function playTone(tone: Tone, volume: number): void {
  if (!context || context.state !== 'running' || volume <= 0) return;
  const startS = context.currentTime + 0.01;
  for (const [after, length, hertz] of NOTES[tone]) {
    const gain = context.createGain();
    const oscillator = context.createOscillator();
    oscillator.type = 'triangle';
    oscillator.frequency.value = hertz;
    const from = startS + after;
    gain.gain.setValueAtTime(0, from);
    gain.gain.linearRampToValueAtTime(volume, from + EDGE_SECONDS);
    gain.gain.setValueAtTime(volume, from + length - EDGE_SECONDS);
    gain.gain.linearRampToValueAtTime(0, from + length);
    oscillator.connect(gain).connect(context.destination);
    oscillator.start(from);
    oscillator.stop(from + length);
  }
}
