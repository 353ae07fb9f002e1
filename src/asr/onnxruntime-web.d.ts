declare module 'onnxruntime-web/dist/ort.wasm-core.min.js' {
  export { env, InferenceSession, Tensor } from 'onnxruntime-common';
}
