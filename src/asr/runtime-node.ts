import ort from 'onnxruntime-node';
import { runtimeOf, type Runtime } from './runtime.ts';

/** The native runtime, for the command line and tests. */
export const nodeRuntime: Runtime = runtimeOf(ort, 'cpu');
