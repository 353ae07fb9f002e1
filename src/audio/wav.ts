/**
 * WAV files (RIFF/WAVE): integer PCM of 8, 16, 24 and 32 bits, float PCM of 32 and 64 bits, any number of
 * channels, plain or WAVE_FORMAT_EXTENSIBLE. Source: Microsoft, "Multiple channel audio data and WAVE files" (2007);
 * IBM and Microsoft, "Multimedia Programming Interface and Data Specifications 1.0" (1991).
 */
export interface Sound {
  /** Samples a second. */
  sampleRate: number;
  /** Mono, −1…1: the mean of all channels. */
  samples: Float32Array;
}

/** Says in a sentence what is wrong with the file. */
export class WavError extends Error {
  override name = 'WavError';
}

const INTEGER = 1;
const FLOAT = 3;
const EXTENSIBLE = 0xfffe;
/** A writer to a pipe does not know the length and leaves one of these. */
const UNKNOWN_LENGTHS = [0, 0xffffffff];
const MOST_CHANNELS = 64;
const RATES = { least: 4000, most: 384_000 };

interface Format {
  kind: number;
  channels: number;
  sampleRate: number;
  blockBytes: number;
  bits: number;
}

function readFormat(view: DataView, at: number, size: number): Format {
  if (size < 16) throw new WavError('The WAV file is damaged: its format description is too short.');
  const tag = view.getUint16(at, true);
  if (tag === EXTENSIBLE && size < 40) {
    throw new WavError('The WAV file is damaged: its extended format description is too short.');
  }
  const format = {
    kind: tag === EXTENSIBLE ? view.getUint16(at + 24, true) : tag,
    channels: view.getUint16(at + 2, true),
    sampleRate: view.getUint32(at + 4, true),
    blockBytes: view.getUint16(at + 12, true),
    bits: view.getUint16(at + 14, true),
  };
  const known =
    (format.kind === INTEGER && [8, 16, 24, 32].includes(format.bits)) ||
    (format.kind === FLOAT && [32, 64].includes(format.bits));
  if (!known) {
    throw new WavError(
      `The WAV file uses coding ${format.kind} with ${format.bits} bits; only plain PCM (8, 16, 24, 32 bits or 32, 64 bit float) can be read.`,
    );
  }
  if (format.channels < 1 || format.channels > MOST_CHANNELS) {
    throw new WavError(
      `The WAV file says that it has ${format.channels} channels; 1 to ${MOST_CHANNELS} can be read.`,
    );
  }
  if (format.sampleRate < RATES.least || format.sampleRate > RATES.most) {
    throw new WavError(
      `The WAV file says ${format.sampleRate} samples a second; ${RATES.least} to ${RATES.most} can be read.`,
    );
  }
  if (format.blockBytes !== (format.channels * format.bits) / 8) {
    throw new WavError(
      'The WAV file is damaged: the size of its samples does not match its channels and bits.',
    );
  }
  return format;
}

function sampleReader(view: DataView, { kind, bits }: Format): (at: number) => number {
  if (kind === FLOAT)
    return bits === 32 ? (at) => view.getFloat32(at, true) : (at) => view.getFloat64(at, true);
  switch (bits) {
    case 8:
      return (at) => (view.getUint8(at) - 128) / 128;
    case 16:
      return (at) => view.getInt16(at, true) / 32768;
    case 24:
      return (at) => (view.getUint16(at, true) + view.getInt8(at + 2) * 65536) / 8388608;
    default:
      return (at) => view.getInt32(at, true) / 2147483648;
  }
}

/** Bytes of a WAV file → mono sound. Throws WavError for anything that cannot be read whole. */
export function readWav(bytes: Uint8Array): Sound {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const name = (at: number): string => String.fromCharCode(...bytes.subarray(at, at + 4));
  if (bytes.length === 0) throw new WavError('The file is empty.');
  if (bytes.length < 12 || name(0) !== 'RIFF' || name(8) !== 'WAVE') {
    throw new WavError('The file is not a WAV recording.');
  }
  let format: Format | null = null;
  for (let at = 12; at + 8 <= bytes.length;) {
    const [chunk, size] = [name(at), view.getUint32(at + 4, true)];
    const body = at + 8;
    const left = bytes.length - body;
    if (chunk === 'data') {
      if (!format) throw new WavError('The WAV file is damaged: its samples come before their format.');
      const length = UNKNOWN_LENGTHS.includes(size) ? left : size;
      if (length > left) {
        throw new WavError(
          `The WAV file is cut short: it announces ${length} bytes of sound and holds ${left}.`,
        );
      }
      return { sampleRate: format.sampleRate, samples: mix(view, body, length, format) };
    }
    if (size > left) throw new WavError('The WAV file is damaged: one of its parts is longer than the file.');
    if (chunk === 'fmt ') format = readFormat(view, body, size);
    at = body + size + (size % 2);
  }
  throw new WavError('The WAV file holds no sound.');
}

function mix(view: DataView, from: number, length: number, format: Format): Float32Array {
  const frames = Math.floor(length / format.blockBytes);
  if (frames === 0) throw new WavError('The WAV file holds no sound.');
  const read = sampleReader(view, format);
  const step = format.bits / 8;
  const samples = new Float32Array(frames);
  for (let frame = 0, at = from; frame < frames; frame++) {
    let sum = 0;
    for (let channel = 0; channel < format.channels; channel++, at += step) sum += read(at);
    if (!Number.isFinite(sum))
      throw new WavError('The WAV file is damaged: it holds values that are no sound.');
    samples[frame] = sum / format.channels;
  }
  return samples;
}

/** Mono sound → WAV file of 16-bit PCM. Values beyond −1…1 are clipped. */
export function writeWav({ sampleRate, samples }: Sound): Uint8Array {
  const bytes = new Uint8Array(44 + 2 * samples.length);
  const view = new DataView(bytes.buffer);
  const put = (at: number, text: string): void => bytes.set(new TextEncoder().encode(text), at);
  put(0, 'RIFF');
  view.setUint32(4, bytes.length - 8, true);
  put(8, 'WAVEfmt ');
  view.setUint32(16, 16, true);
  view.setUint16(20, INTEGER, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * 2, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  put(36, 'data');
  view.setUint32(40, 2 * samples.length, true);
  samples.forEach((value, k) => {
    view.setInt16(44 + 2 * k, Math.max(-32768, Math.min(32767, Math.round(value * 32768))), true);
  });
  return bytes;
}
