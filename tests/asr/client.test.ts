import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { SpeechClient, type SpeechEvent, type WorkerLike } from '../../src/asr/client.ts';
import type { Chunk } from '../../src/asr/listener.ts';
import type { FromWorker, ToWorker } from '../../src/asr/protocol.ts';

/** A worker of the test's own: it notes what it gets and says what the test wants. */
class PlayedWorker implements WorkerLike {
  onmessage: WorkerLike['onmessage'] = null;
  onerror: WorkerLike['onerror'] = null;
  onmessageerror: WorkerLike['onmessageerror'] = null;
  got: ToWorker[] = [];
  terminated = false;
  postMessage(message: ToWorker): void {
    this.got.push(message);
  }
  terminate(): void {
    this.terminated = true;
  }
  say(message: FromWorker): void {
    this.onmessage?.call(this as unknown as Worker, { data: message } as MessageEvent);
  }
  crash(): void {
    this.onerror?.call(this as unknown as AbstractWorker, { message: 'out of memory' } as ErrorEvent);
  }
  get chunks(): Chunk[] {
    return this.got.flatMap((message) => (message.kind === 'audio' ? [message.chunk] : []));
  }
}

const BLOCK_MS = 1000;
const block = (k: number): Chunk => ({
  atMs: k * BLOCK_MS,
  sampleRate: 16000,
  samples: new Float32Array(16000),
});
const heard = (onsetMs: number, endMs: number): FromWorker => ({
  kind: 'heard',
  onsetMs,
  endMs,
  cut: false,
  heard: {
    tuned: { text: 'baby out' },
    untouched: { text: 'Baby out.' },
    doubts: [],
    speechMs: endMs - onsetMs,
  },
  computeMs: 1,
  early: false,
});

let workers: PlayedWorker[];
let events: SpeechEvent[];
let client: SpeechClient;
const opened = async (): Promise<PlayedWorker> => {
  const opening = client.open();
  workers.at(-1)!.say({ kind: 'ready', loadMs: 5 });
  expect(await opening).toEqual({ kind: 'ready', loadMs: 5 });
  return workers.at(-1)!;
};
const told = (kind: SpeechEvent['kind']): SpeechEvent[] => events.filter((event) => event.kind === kind);

beforeEach(() => {
  vi.useFakeTimers();
  workers = [];
  events = [];
  client = new SpeechClient((event) => events.push(event), {
    modelsBase: 'http://localhost/models/',
    wasmBase: 'http://localhost/wasm/',
    mostKeptMs: 20_000,
    hangMs: 5_000,
    makeWorker: () => {
      workers.push(new PlayedWorker());
      return workers.at(-1)!;
    },
  });
});
afterEach(() => {
  client.close();
  vi.useRealTimers();
});

describe('SpeechClient', () => {
  it('keeps the sound that comes before the model is there', async () => {
    const opening = client.open();
    client.push(block(0));
    expect(workers[0]!.chunks).toEqual([]);
    workers[0]!.say({ kind: 'ready', loadMs: 5 });
    await opening;
    expect(workers[0]!.chunks).toEqual([block(0)]);
  });

  it('goes over to another listener with its model and without what it heard before', async () => {
    const worker = await opened();
    client.push(block(0));
    const later: SpeechEvent[] = [];
    client.handTo((event) => later.push(event));
    expect(await client.open()).toEqual({ kind: 'ready', loadMs: 5 });
    client.push(block(1));
    worker.say(heard(100, 900));
    worker.say({ kind: 'forgotten' });
    worker.say(heard(1100, 1900));
    expect(workers).toHaveLength(1);
    expect(worker.got.slice(-3).map(({ kind }) => kind)).toEqual(['audio', 'forget', 'audio']);
    expect(told('heard')).toEqual([]);
    expect(later.map((event) => 'onsetMs' in event && event.onsetMs)).toEqual([1100]);
  });

  it('goes over while the model is still being opened', async () => {
    const opening = client.open();
    client.push(block(0));
    const later: SpeechEvent[] = [];
    client.handTo((event) => later.push(event));
    client.push(block(1));
    workers[0]!.say({ kind: 'ready', loadMs: 5 });
    expect(await opening).toEqual({ kind: 'ready', loadMs: 5 });
    expect(workers[0]!.chunks).toEqual([block(1)]);
    workers[0]!.say(heard(1100, 1900));
    expect(later).toHaveLength(1);
  });

  it('hands on why a model was refused', async () => {
    const opening = client.open();
    const problem = { kind: 'cut', path: 'a', sentence: 'The speech model cannot start.' } as const;
    workers[0]!.say({ kind: 'refused', problem });
    expect(await opening).toEqual({ kind: 'refused', problem });
    expect(workers[0]!.terminated).toBe(true);
  });

  it('gives a new worker the sound that the crashed one had not settled', async () => {
    const first = await opened();
    for (let k = 0; k < 5; k++) client.push(block(k));
    first.say({ kind: 'settled', untilMs: 2000 });
    first.crash();
    expect(told('restarted')).toHaveLength(1);
    const second = workers[1]!;
    expect(told('recovered')).toHaveLength(0);
    second.say({ kind: 'ready', loadMs: 5 });
    expect(told('recovered')).toHaveLength(1);
    expect(second.chunks.map(({ atMs }) => atMs)).toEqual([2000, 3000, 4000]);
    second.say(heard(2100, 3000));
    expect(told('heard')).toHaveLength(1);
  });

  it('says so where the new worker cannot start', async () => {
    const first = await opened();
    client.push(block(0));
    first.crash();
    const problem = { kind: 'cut', path: 'a', sentence: 'The speech model cannot start.' } as const;
    workers[1]!.say({ kind: 'refused', problem });
    expect(told('gone')).toEqual([{ kind: 'gone', sentence: 'The speech model cannot start.' }]);
  });

  it('tells what was heard before the crash only once', async () => {
    const first = await opened();
    client.push(block(0));
    first.say(heard(100, 900));
    first.crash();
    workers[1]!.say({ kind: 'ready', loadMs: 5 });
    workers[1]!.say(heard(130, 900));
    workers[1]!.say(heard(1500, 2000));
    expect(told('heard').map((event) => 'onsetMs' in event && event.onsetMs)).toEqual([100, 1500]);
  });

  it('replaces a worker that has sound and says nothing', async () => {
    await opened();
    client.push(block(0));
    await vi.advanceTimersByTimeAsync(5_001);
    expect(told('restarted')).toHaveLength(1);
    expect(workers[0]!.terminated).toBe(true);
  });

  it('does not take silence of the source for a hung worker', async () => {
    const worker = await opened();
    client.push(block(0));
    worker.say({ kind: 'settled', untilMs: 900 });
    await vi.advanceTimersByTimeAsync(60_000);
    expect(told('restarted')).toHaveLength(0);
  });

  it('gives up the oldest sound aloud when it is too far behind', async () => {
    const worker = await opened();
    for (let k = 0; k < 22; k++) client.push(block(k));
    const [lost] = told('unheard');
    expect(lost).toMatchObject({ onsetMs: 0, why: 'too-far-behind' });
    expect(worker.got.some((message) => message.kind === 'skip')).toBe(true);
    expect(client.keptMs).toBeLessThanOrEqual(20_000);
  });

  it('gives up a stretch that crashes every worker, and goes on with the rest', async () => {
    await opened();
    for (let k = 0; k < 12; k++) client.push(block(k));
    for (let crash = 0; crash < 3; crash++) {
      workers.at(-1)!.crash();
      workers.at(-1)!.say({ kind: 'ready', loadMs: 5 });
    }
    expect(told('unheard')).toMatchObject([{ onsetMs: 0, endMs: 8000, why: 'recogniser-failed' }]);
    expect(workers.at(-1)!.chunks[0]!.atMs).toBe(8000);
  });

  describe('listening again', () => {
    const SECOND = { tuned: { text: 'x' }, untouched: { text: 'x' }, doubts: [], speechMs: 800 };
    /** What came of it, among what is told, in order. */
    let order: string[];
    const unsure = async (): Promise<PlayedWorker> => {
      const worker = await opened();
      order = [];
      client.handTo((event) => {
        order.push(event.kind);
        if (event.kind === 'heard')
          client.listenOn(
            event,
            (again) => again.length === 0,
            (again) => order.push(again[0]?.tuned.text ?? 'first stands'),
          );
      });
      worker.say({ kind: 'forgotten' });
      client.push(block(0));
      worker.say(heard(100, 900));
      return worker;
    };

    it('names the utterance, whose sound the worker keeps, and gives what was heard', async () => {
      const worker = await unsure();
      const asked = worker.got.find((message) => message.kind === 'again');
      expect(asked).toMatchObject({ onsetMs: 100, timesBefore: 0, speechMs: 800 });
      expect(asked).not.toHaveProperty('samples');
      worker.say({ kind: 'again', onsetMs: 100, timesBefore: 0, heard: SECOND });
      await vi.advanceTimersByTimeAsync(4_000);
      expect(order).toEqual(['heard', 'x']);
    });

    it('goes on to the next where the one before settled nothing; an answer twice given is one', async () => {
      const worker = await unsure();
      client.handTo(() => {});
      worker.say({ kind: 'forgotten' });
      const event = heard(2000, 2800) as never;
      client.listenOn(
        event,
        () => true,
        (again) => order.push(`${again.length} more`),
      );
      worker.say({ kind: 'again', onsetMs: 2000, timesBefore: 0, heard: SECOND });
      worker.say({ kind: 'again', onsetMs: 2000, timesBefore: 0, heard: SECOND });
      worker.say({ kind: 'again', onsetMs: 2000, timesBefore: 1, heard: SECOND });
      expect(order.at(-1)).not.toMatch(/more/);
      worker.say({ kind: 'again', onsetMs: 2000, timesBefore: 2, heard: null });
      expect(order.at(-1)).toBe('2 more');
    });

    it('takes no longer in all, however often it listens', async () => {
      await unsure();
      const done: number[] = [];
      client.listenOn(
        heard(2000, 2800) as never,
        () => true,
        (again) => done.push(again.length),
      );
      await vi.advanceTimersByTimeAsync(2_500);
      workers.at(-1)!.say({ kind: 'again', onsetMs: 2000, timesBefore: 0, heard: SECOND });
      await vi.advanceTimersByTimeAsync(400);
      expect(done).toEqual([]);
      await vi.advanceTimersByTimeAsync(200);
      expect(done).toEqual([1]);
    });

    it('gives way to what is heard next, and a late answer is none', async () => {
      const worker = await unsure();
      worker.say(heard(1500, 2000));
      worker.say({ kind: 'again', onsetMs: 100, timesBefore: 0, heard: SECOND });
      expect(order).toEqual(['heard', 'first stands', 'heard']);
      worker.say({ kind: 'again', onsetMs: 1500, timesBefore: 0, heard: null });
      expect(order.at(-1)).toBe('first stands');
    });

    it.each<[string, (worker: PlayedWorker) => unknown]>([
      ['the worker crashes', (worker) => worker.crash()],
      ['hearing is closed', () => client.close()],
      ['the source ends', (worker) => worker.say({ kind: 'flushed', ticket: 0 })],
      ['no answer comes', () => vi.advanceTimersByTimeAsync(3_001)],
    ])('is left when %s: the first stands, once', async (_why, end) => {
      const worker = await unsure();
      await end(worker);
      expect(order.slice(0, 2)).toEqual(['heard', 'first stands']);
      await vi.advanceTimersByTimeAsync(4_000);
      expect(order.filter((what) => what === 'first stands')).toHaveLength(1);
    });
  });

  it('finishes when the worker has worked everything off, across a crash', async () => {
    await opened();
    client.push(block(0));
    const done = vi.fn();
    void client.finish().then(done);
    workers[0]!.crash();
    workers[1]!.say({ kind: 'ready', loadMs: 5 });
    const flush = workers[1]!.got.find((message) => message.kind === 'flush');
    await vi.advanceTimersByTimeAsync(10);
    expect(done).not.toHaveBeenCalled();
    workers[1]!.say({ kind: 'flushed', ticket: (flush as { ticket: number }).ticket });
    await vi.advanceTimersByTimeAsync(10);
    expect(done).toHaveBeenCalledOnce();
  });
});
