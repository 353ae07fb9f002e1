import { SPEECH_RATE } from '../audio/resample.ts';

/** A room with hard walls, its reverberation time, and a talker and a microphone in it; metres, seconds. */
export interface Room {
  size: [number, number, number];
  reverberationSeconds: number;
  talker: [number, number, number];
  microphone: [number, number, number];
}

const SPEED_OF_SOUND = 343;

/**
 * Impulse response from talker to microphone at 16 kHz, by mirror images of the talker; the direct sound at 1 m
 * has size 1. Sources: Allen and Berkley 1979, J Acoust Soc Am 65:943–950; absorption from Eyring 1930,
 * J Acoust Soc Am 1:217–241.
 */
export function impulseResponse({ size, reverberationSeconds, talker, microphone }: Room): Float32Array {
  const [x, y, z] = size;
  const volume = x * y * z;
  const surface = 2 * (x * y + y * z + x * z);
  const absorption = 1 - Math.exp((-0.161 * volume) / (surface * reverberationSeconds));
  const reflection = Math.sqrt(1 - absorption);
  const length = Math.ceil(reverberationSeconds * SPEECH_RATE);
  const out = new Float32Array(length);
  const reach = size.map((edge) => Math.ceil((reverberationSeconds * SPEED_OF_SOUND) / (2 * edge)));
  const images = (axis: 0 | 1 | 2): { offset: number; bounces: number }[] => {
    const list: { offset: number; bounces: number }[] = [];
    for (let n = -reach[axis]!; n <= reach[axis]!; n++) {
      list.push({ offset: 2 * n * size[axis] + talker[axis] - microphone[axis], bounces: Math.abs(2 * n) });
      list.push({
        offset: 2 * n * size[axis] - talker[axis] - microphone[axis],
        bounces: Math.abs(2 * n - 1),
      });
    }
    return list;
  };
  const [across, along, up] = [images(0), images(1), images(2)];
  for (const a of across) {
    for (const b of along) {
      for (const c of up) {
        const distance = Math.hypot(a.offset, b.offset, c.offset);
        const at = Math.round((distance / SPEED_OF_SOUND) * SPEECH_RATE);
        if (at >= length) continue;
        out[at] = out[at]! + reflection ** (a.bounces + b.bounces + c.bounces) / Math.max(0.1, distance);
      }
    }
  }
  return out;
}

/** Convolution; the delay of the direct sound is taken out, so that speech begins when it was spoken. */
export function inRoom(dry: Float32Array, response: Float32Array): Float32Array {
  const delay = response.findIndex((value) => value !== 0);
  const out = new Float32Array(dry.length);
  response.subarray(delay).forEach((weight, shift) => {
    if (weight === 0) return;
    for (let k = shift; k < out.length; k++) out[k] = out[k]! + weight * dry[k - shift]!;
  });
  return out;
}
