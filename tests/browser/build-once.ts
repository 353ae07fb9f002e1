import { spawnSync } from 'node:child_process';
import { join } from 'node:path';

/** Builds the app before the browser tests, unless the caller has just built it. */
export default function buildOnce(): void {
  if (process.env.UTTERLOG_BUILT) return;
  const root = join(import.meta.dirname, '../..');
  const built = spawnSync('npx', ['vite', 'build', '--logLevel', 'warn'], { cwd: root, stdio: 'inherit' });
  if (built.status !== 0) throw new Error('The build failed; the browser tests need it.');
}
