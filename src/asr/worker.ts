import { Listener } from './listener.ts';
import { httpReader, loadModelFiles } from './model-files.ts';
import type { FromWorker, ToWorker } from './protocol.ts';
import { createRecogniser } from './recogniser.ts';
import { webRuntime } from './runtime-web.ts';
import { openSilero } from './silero.ts';

/** The one worker: fetches and checks the model, listens, recognises. Talked to by client.ts alone. */
const scope = self as unknown as DedicatedWorkerGlobalScope;
const tell = (message: FromWorker): void => scope.postMessage(message);

/** Lets the messages that wait come in before the next step. */
const bell = new MessageChannel();
let rung: () => void = () => {};
bell.port1.onmessage = () => rung();
const breathe = (): Promise<void> =>
  new Promise((resolve) => {
    rung = resolve;
    bell.port2.postMessage(null);
  });

let listener: Listener | null = null;
let settledMs = -Infinity;
/** The sound of the last utterance, for listening to it again. */
let last: { onsetMs: number; samples: Float32Array } | null = null;

function tellSettled(): void {
  const now = listener?.settledMs() ?? null;
  if (now === null || now <= settledMs) return;
  settledMs = now;
  tell({ kind: 'settled', untilMs: now });
}

async function open(modelsBase: string, wasmBase: string): Promise<void> {
  const begun = performance.now();
  const loaded = await loadModelFiles(httpReader(modelsBase), (progress) =>
    tell({ kind: 'progress', ...progress }),
  );
  if (loaded.kind !== 'ok') return tell({ kind: 'refused', problem: loaded });
  const { files } = loaded;
  try {
    const runtime = webRuntime(wasmBase);
    const newSpeechProbability = await openSilero(files, runtime);
    const recogniser = await createRecogniser({ files, runtime });
    listener = new Listener({
      recogniser,
      newSpeechProbability,
      breathe,
      early: true,
      tell: (event) => {
        if (event.kind === 'heard') {
          const { samples, ...told } = event;
          last = { onsetMs: event.onsetMs, samples };
          tell(told);
        } else tell(event);
        tellSettled();
      },
    });
    tell({ kind: 'ready', loadMs: performance.now() - begun });
  } catch (error) {
    tell({ kind: 'unusable', why: error instanceof Error ? error.message : String(error) });
  }
}

scope.onmessage = ({ data }: MessageEvent<ToWorker>) => {
  switch (data.kind) {
    case 'open':
      void open(data.modelsBase, data.wasmBase);
      return;
    case 'audio':
      listener?.push(data.chunk);
      return;
    case 'again': {
      const { onsetMs, timesBefore, speechMs } = data;
      const samples = last?.onsetMs === onsetMs ? last.samples : null;
      void (
        samples && listener ? listener.again(samples, speechMs, timesBefore) : Promise.resolve(null)
      ).then((heard) => tell({ kind: 'again', onsetMs, timesBefore, heard }));
      return;
    }
    case 'skip':
      listener?.skip(data.untilMs);
      return;
    case 'forget':
      last = null;
      void listener?.forget().then(() => tell({ kind: 'forgotten' }));
      return;
    case 'flush':
      void listener?.flush().then(() => {
        tellSettled();
        tell({ kind: 'flushed', ticket: data.ticket });
      });
  }
};

// A failure inside the listener must reach the client, which starts a new worker with the sound kept.
scope.addEventListener('unhandledrejection', (event: PromiseRejectionEvent) => {
  event.preventDefault();
  setTimeout(() => {
    throw event.reason;
  });
});
