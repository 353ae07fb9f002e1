import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { readFhirOrigin } from './headers.ts';
import { createAppServer } from './app-server.ts';

const HOME = join(import.meta.dirname, '../..');
const DIST = join(HOME, 'dist');
const BUILT_FROM = ['src', 'static', 'models', 'vite.config.ts', 'package-lock.json'];

function newestMs(path: string): number {
  const facts = statSync(path, { throwIfNoEntry: false });
  if (!facts) return 0;
  if (!facts.isDirectory()) return facts.mtimeMs;
  return readdirSync(path).reduce((newest, name) => Math.max(newest, newestMs(join(path, name))), 0);
}

function buildIfNeeded(): void {
  const index = join(DIST, 'index.html');
  const builtMs = existsSync(index) ? statSync(index).mtimeMs : 0;
  if (BUILT_FROM.every((name) => newestMs(join(HOME, name)) <= builtMs)) return;
  console.error('Building the app …');
  const vite = join(HOME, 'node_modules/vite/bin/vite.js');
  const { status } = spawnSync(process.execPath, [vite, 'build', '--logLevel', 'warn'], {
    cwd: HOME,
    stdio: 'inherit',
  });
  if (status !== 0) throw new Error('The app could not be built; nothing was started. The reason is above.');
}

async function start(): Promise<void> {
  const port = Number(process.env['PORT'] ?? 4173);
  if (!Number.isInteger(port) || port < 0 || port > 65535) {
    throw new Error(
      `PORT must be a number from 0 to 65535, not "${process.env['PORT']}". Nothing was started.`,
    );
  }
  const fhirOrigin = readFhirOrigin(process.env['FHIR_ORIGIN']);
  if (!process.argv.includes('--as-built')) buildIfNeeded();
  const server = await createAppServer(DIST, fhirOrigin);
  server.on('error', (error: NodeJS.ErrnoException) => {
    console.error(
      error.code === 'EADDRINUSE'
        ? `Port ${port} is in use by another program; nothing was started. Choose another: PORT=4174 npm start`
        : `The server stopped: ${error.message}. Records are in the browser and are not touched by this.`,
    );
    process.exit(1);
  });
  server.listen(port, '127.0.0.1', () => {
    const address = server.address();
    const shown = typeof address === 'object' && address ? address.port : port;
    // A passkey needs a name; a browser keeps what was stored under the bare address apart from it.
    console.log(`Utterlog is served at http://localhost:${shown}/`);
    console.log(
      `Records kept under http://127.0.0.1:${shown}/ are still there: open that address to export them.`,
    );
    if (fhirOrigin) console.log(`Sending out is allowed to ${fhirOrigin} once a person turns it on.`);
    console.log('Open it in a browser on this device. Ctrl+C stops it.');
  });
}

start().catch((error: Error) => {
  console.error(error.message);
  process.exit(1);
});
