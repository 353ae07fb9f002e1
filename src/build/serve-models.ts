import { cpSync, createReadStream, existsSync, statSync } from 'node:fs';
import { join, normalize, resolve } from 'node:path';
import type { Plugin } from 'vite';

/** Folders of models/ that the running app reads; training and reports stay out of the build. */
const RUNTIME = ['manifest.json', 'callout-tiny', 'silero-vad'];

/** Serves models/ in development and copies the parts that the app reads into the build. */
export function serveModels(): Plugin {
  let outDir = 'dist';
  let building = false;
  const source = join(import.meta.dirname, '../../models');
  return {
    name: 'utterlog-models',
    configResolved(config) {
      building = config.command === 'build';
      outDir = config.build.outDir;
    },
    configureServer(server) {
      server.middlewares.use('/models', (request, response, next) => {
        const file = join(source, normalize(decodeURIComponent((request.url ?? '/').split('?')[0]!)));
        if (!file.startsWith(source) || !existsSync(file) || !statSync(file).isFile()) return next();
        response.setHeader('content-length', statSync(file).size);
        createReadStream(file).pipe(response);
      });
    },
    closeBundle() {
      if (!building) return;
      for (const name of RUNTIME) {
        if (existsSync(join(source, name))) {
          cpSync(join(source, name), resolve(import.meta.dirname, '..', outDir, 'models', name), {
            recursive: true,
          });
        }
      }
    },
  };
}
