import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readWav, WavError, writeWav } from '../../src/audio/wav.ts';

/** A WAV file by hand: chunk sizes as in the format's specification (RIFF, 1991). */
function wav(options: {
  tag: number;
  bits: number;
  channels?: number;
  sampleRate?: number;
  frames: number[][];
  extensible?: boolean;
  dataSize?: number;
  before?: Uint8Array;
}): Uint8Array {
  const { tag, bits, channels = 1, sampleRate = 16000, frames, extensible = false } = options;
  const fmtSize = extensible ? 40 : 16;
  const before = options.before ?? new Uint8Array(0);
  const step = bits / 8;
  const dataBytes = frames.length * channels * step;
  const bytes = new Uint8Array(12 + 8 + fmtSize + before.length + 8 + dataBytes);
  const view = new DataView(bytes.buffer);
  const text = (at: number, value: string) => bytes.set(new TextEncoder().encode(value), at);
  text(0, 'RIFF');
  view.setUint32(4, bytes.length - 8, true);
  text(8, 'WAVEfmt ');
  view.setUint32(16, fmtSize, true);
  view.setUint16(20, extensible ? 0xfffe : tag, true);
  view.setUint16(22, channels, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * channels * step, true);
  view.setUint16(32, channels * step, true);
  view.setUint16(34, bits, true);
  if (extensible) view.setUint16(44, tag, true);
  let at = 20 + fmtSize;
  bytes.set(before, at);
  at += before.length;
  text(at, 'data');
  view.setUint32(at + 4, options.dataSize ?? dataBytes, true);
  at += 8;
  for (const value of frames.flat()) {
    if (tag === 3 && bits === 32) view.setFloat32(at, value, true);
    else if (tag === 3) view.setFloat64(at, value, true);
    else if (bits === 8) view.setUint8(at, Math.round(value * 128) + 128);
    else if (bits === 16) view.setInt16(at, Math.round(value * 32768), true);
    else if (bits === 24) {
      const whole = Math.round(value * 8388608);
      view.setUint16(at, whole & 0xffff, true);
      view.setInt8(at + 2, whole >> 16);
    } else view.setInt32(at, Math.round(value * 2147483648), true);
    at += step;
  }
  return bytes;
}

const VALUES = [0, 0.5, -0.5, 0.25, -1];

describe('readWav', () => {
  it.each([
    [1, 8],
    [1, 16],
    [1, 24],
    [1, 32],
    [3, 32],
    [3, 64],
  ])('reads coding %i with %i bits, plain and extensible', (tag, bits) => {
    for (const extensible of [false, true]) {
      const sound = readWav(wav({ tag, bits, frames: VALUES.map((value) => [value]), extensible }));
      expect([...sound.samples]).toEqual(VALUES);
      expect(sound.sampleRate).toBe(16000);
    }
  });

  it('takes the mean of all channels', () => {
    const frames = [
      [0.5, -0.5, 0.25],
      [1 / 4, 1 / 4, 1 / 4],
    ];
    const { samples } = readWav(wav({ tag: 3, bits: 64, channels: 3, frames }));
    expect(samples[0]).toBeCloseTo(0.25 / 3, 6);
    expect(samples[1]).toBeCloseTo(0.25, 6);
  });

  it('steps over parts that it does not know, odd lengths included', () => {
    const note = new Uint8Array([...new TextEncoder().encode('LIST'), 3, 0, 0, 0, 1, 2, 3, 0]);
    expect(readWav(wav({ tag: 1, bits: 16, frames: [[0.5]], before: note })).samples[0]).toBe(0.5);
  });

  it('reads to the end where a pipe left the length open', () => {
    for (const dataSize of [0, 0xffffffff]) {
      const bytes = wav({ tag: 1, bits: 16, frames: [[0.5], [0.25]], dataSize });
      expect([...readWav(bytes).samples]).toEqual([0.5, 0.25]);
    }
  });

  it('refuses a length that the file does not hold, without making room for it', () => {
    expect(() => readWav(wav({ tag: 1, bits: 16, frames: [[0.5]], dataSize: 0xfffffff0 }))).toThrow(
      /cut short/,
    );
  });

  it.each([
    ['nothing', new Uint8Array(0), /empty/],
    ['text', new TextEncoder().encode('this is no recording at all'), /not a WAV/],
    ['no sound', wav({ tag: 1, bits: 16, frames: [] }), /no sound/],
    ['a coding of telephones', wav({ tag: 7, bits: 8, frames: [[0]] }), /only plain PCM/],
    ['no channel', wav({ tag: 1, bits: 16, channels: 0, frames: [] }), /channels/],
    ['an absurd rate', wav({ tag: 1, bits: 16, sampleRate: 3, frames: [[0]] }), /samples a second/],
    ['values that are no numbers', wav({ tag: 3, bits: 32, frames: [[NaN]] }), /no sound/],
    ['a head alone', wav({ tag: 1, bits: 16, frames: [[0]] }).slice(0, 20), /damaged|no sound/],
  ])('says in a sentence what is wrong: %s', (_what, bytes, sentence) => {
    expect(() => readWav(bytes)).toThrow(sentence);
    expect(() => readWav(bytes)).toThrow(WavError);
  });

  it('answers any bytes with sound or a sentence', () => {
    const whole = wav({
      tag: 1,
      bits: 16,
      channels: 2,
      frames: [
        [0.1, 0.2],
        [0.3, 0.4],
      ],
    });
    const damaged = fc
      .tuple(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(255)), { maxLength: 6 }),
        fc.nat(whole.length),
      )
      .map(([changes, length]) => {
        const bytes = whole.slice();
        for (const [at, value] of changes) bytes[at] = value;
        return bytes.slice(0, length);
      });
    fc.assert(
      fc.property(fc.oneof(damaged, fc.uint8Array({ maxLength: 200 })), (bytes) => {
        try {
          const { samples } = readWav(bytes);
          expect(samples.length).toBeGreaterThan(0);
          expect(samples.every(Number.isFinite)).toBe(true);
        } catch (error) {
          expect(error).toBeInstanceOf(WavError);
        }
      }),
      { numRuns: 3000 },
    );
  });

  it('reads back what writeWav wrote', () => {
    const samples = Float32Array.from([0, 0.5, -1, 2]);
    const back = readWav(writeWav({ sampleRate: 48000, samples }));
    expect(back.sampleRate).toBe(48000);
    expect([...back.samples]).toEqual([0, 0.5, -1, 32767 / 32768]);
  });
});
