import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import ort from 'onnxruntime-node';
import { runtimeOf, type Runtime } from './runtime.ts';

/**
 * This version of the native runtime drops the options of a session that is opened from bytes: every session then takes
 * all cores and waits on them busily, at five times the processor time. Opened from a file it keeps to one thread.
 */
async function createFromFile(bytes: Uint8Array, options: object): Promise<unknown> {
  const folder = mkdtempSync(join(tmpdir(), 'utterlog-model-'));
  try {
    const file = join(folder, 'model.onnx');
    writeFileSync(file, bytes);
    return await ort.InferenceSession.create(file, options);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The native runtime, for the command line and tests. */
export const nodeRuntime: Runtime = runtimeOf(
  { InferenceSession: { create: createFromFile }, Tensor: ort.Tensor },
  'cpu',
);
