// The build without WebGL, proxy and threads: a tenth of the full one, and all that is used.
import * as ort from 'onnxruntime-web/dist/ort.wasm-core.min.js';
import { runtimeOf, type Runtime } from './runtime.ts';

/**
 * The WebAssembly runtime, for the worker. `wasmBase` is the address of the folder with our own copy of the
 * .wasm file, absolute; the package's default would be a foreign server.
 */
export function webRuntime(wasmBase: string): Runtime {
  ort.env.wasm.wasmPaths = wasmBase;
  ort.env.wasm.numThreads = 1;
  ort.env.wasm.proxy = false;
  return runtimeOf(ort, 'wasm');
}
