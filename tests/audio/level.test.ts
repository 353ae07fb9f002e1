import { describe, expect, it } from 'vitest';
import { measureLevel, SignalMeter, signalState, type SignalSummary } from '../../src/audio/level.ts';
import data from '../../src/audio/levels.json' with { type: 'json' };

const tone = (amplitude: number): Float32Array =>
  Float32Array.from({ length: 3072 }, (_, k) => amplitude * Math.sin(0.3 * k));

describe('measureLevel', () => {
  it('gives a full-scale sine −3 dB by its mean and 0 dB by its peak', () => {
    const { rmsDb, peakDb } = measureLevel(tone(1));
    // Source: root mean square of a sine is its peak divided by √2.
    expect(rmsDb).toBeCloseTo(-3.01, 1);
    expect(peakDb).toBeCloseTo(0, 1);
  });

  it('counts samples at the limit', () => {
    expect(measureLevel(Float32Array.from([1, -1, 0.5, 0])).clipped).toBe(0.5);
    expect(measureLevel(new Float32Array(8)).peakDb).toBe(data.silentDb);
  });
});

describe('signalState', () => {
  const good: SignalSummary = { noiseFloorDb: -60, speechDb: -25, clipped: 0, sinceSpeechMs: 0, zerosMs: 0 };

  it('names what a person can mend, the most urgent first', () => {
    expect(signalState(good)).toBe('good');
    expect(signalState({ ...good, zerosMs: data.states.noSignal.afterMs })).toBe('no-signal');
    expect(signalState({ ...good, clipped: data.states.tooLoud.clippedShare })).toBe('too-loud');
    expect(signalState({ ...good, noiseFloorDb: -30, speechDb: -25 })).toBe('too-noisy');
    expect(signalState({ ...good, sinceSpeechMs: data.states.silentLong.afterMs })).toBe('silent-long');
  });

  it('does not call a quiet room noisy because nobody speaks', () => {
    expect(signalState({ ...good, speechDb: -60, sinceSpeechMs: 60_000 })).toBe('good');
  });
});

describe('SignalMeter', () => {
  it('tells the floor of the room from the speech in it', () => {
    const meter = new SignalMeter();
    let summary: SignalSummary | undefined;
    for (let k = 0; k < 50; k++) summary = meter.add(tone(k % 5 === 0 ? 0.2 : 0.001), 192, k % 5 === 0);
    expect(summary!.noiseFloorDb).toBeLessThan(-55);
    expect(summary!.speechDb).toBeGreaterThan(-20);
  });

  it('notices a microphone that gives nothing but zeros', () => {
    const meter = new SignalMeter();
    let summary: SignalSummary | undefined;
    for (let k = 0; k < 20; k++) summary = meter.add(new Float32Array(3072), 192, false);
    expect(signalState(summary!)).toBe('no-signal');
  });
});
