/**
 * What the recogniser needs of a neural-network runtime. runtime-web.ts gives it in the browser's worker,
 * runtime-node.ts on the command line: everything above this line is the same code in both.
 */
export interface Tensor {
  readonly data: Float32Array | BigInt64Array;
  readonly dims: readonly number[];
}

export interface Session {
  readonly inputNames: readonly string[];
  readonly outputNames: readonly string[];
  /** `outputs`: the only ones wanted; without it, all. */
  run(feeds: Record<string, Tensor>, outputs?: readonly string[]): Promise<Record<string, Tensor>>;
  release(): Promise<void>;
}

export interface Runtime {
  /** Opens an ONNX model from its bytes, for one thread. Throws where the bytes are no usable model. */
  open(bytes: Uint8Array): Promise<Session>;
  floats(data: Float32Array, dims: readonly number[]): Tensor;
  integers(values: readonly number[], dims: readonly number[]): Tensor;
}

/** The part of an ONNX Runtime package that both editions share. */
interface OrtPackage {
  InferenceSession: { create(bytes: Uint8Array, options: object): Promise<unknown> };
  Tensor: new (
    type: 'float32' | 'int64',
    data: Float32Array | BigInt64Array,
    dims: readonly number[],
  ) => unknown;
}

/** One thread: two gave no clear gain on two slow cores, and one needs no shared memory. */
export function runtimeOf(ort: OrtPackage, executionProvider: 'wasm' | 'cpu'): Runtime {
  const options = {
    executionProviders: [executionProvider],
    intraOpNumThreads: 1,
    interOpNumThreads: 1,
    graphOptimizationLevel: 'all',
    // Errors alone: the voice-activity model gives a page of warnings about its unused parts.
    logSeverityLevel: 3,
  };
  return {
    open: async (bytes) => {
      const session = (await ort.InferenceSession.create(bytes, options)) as Session;
      // The oldest supported version of the package has no release(); its memory goes with the worker.
      return {
        inputNames: session.inputNames,
        outputNames: session.outputNames,
        run: (feeds, outputs) => session.run(feeds, outputs ?? session.outputNames),
        release: async () => session.release?.(),
      };
    },
    floats: (data, dims) => new ort.Tensor('float32', data, dims) as Tensor,
    integers: (values, dims) => new ort.Tensor('int64', BigInt64Array.from(values, BigInt), dims) as Tensor,
  };
}
