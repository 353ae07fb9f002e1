import { cpSync, createReadStream, mkdirSync, statSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Plugin } from 'vite';

/** The one file of the WebAssembly runtime that the speech worker loads: SIMD, one thread. */
const FILE = 'ort-wasm-simd.wasm';

/** Serves the speech runtime from our own address in development and copies it into the build, as wasm/. */
export function serveWasm(): Plugin {
  const source = join(import.meta.dirname, '../../node_modules/onnxruntime-web/dist', FILE);
  let outDir = 'dist';
  let building = false;
  return {
    name: 'utterlog-wasm',
    configResolved(config) {
      building = config.command === 'build';
      outDir = resolve(config.root, config.build.outDir);
    },
    configureServer(server) {
      server.middlewares.use(`/wasm/${FILE}`, (_request, response) => {
        response.setHeader('content-type', 'application/wasm');
        response.setHeader('content-length', statSync(source).size);
        createReadStream(source).pipe(response);
      });
    },
    closeBundle() {
      if (!building) return;
      mkdirSync(join(outDir, 'wasm'), { recursive: true });
      cpSync(source, join(outDir, 'wasm', FILE));
    },
  };
}
