/**
 * The room's noise floor in words. dBFS is relative to the microphone's own limit and not to a sound level in
 * the room, so the words are rough. Project limits: "loud" is where the live screen warns of noise.
 */
export function loudness(noiseFloorDb: number): 'quiet' | 'moderate' | 'loud' {
  if (noiseFloorDb >= -25) return 'loud';
  return noiseFloorDb >= -45 ? 'moderate' : 'quiet';
}
