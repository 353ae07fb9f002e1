import { join } from 'node:path';
import type { AddressInfo } from 'node:net';
import type { Server } from 'node:http';
import { createAppServer } from '../../src/server/app-server.ts';
import { handOnLog } from '../../src/server/shared/run.ts';
import type { Department } from '../shared/department.ts';

const DIST = join(import.meta.dirname, '../../dist');

/** The built app and the department's log under one origin, as the proxy serves them. */
export async function serveShared(
  department: Department,
  options: { port?: number; host?: string; logPort?: () => number } = {},
): Promise<{ url: string; server: Server; stop: () => void }> {
  const card = JSON.stringify(department.card);
  const server = await createAppServer(DIST, undefined, { 'shared.json': card });
  handOnLog(server, options.logPort ?? (() => department.kept.browserPorts[0]!));
  const host = options.host ?? '127.0.0.1';
  await new Promise<void>((done) => server.listen(options.port ?? 0, host, done));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://${host}:${port}/`,
    server,
    stop: () => {
      server.closeAllConnections();
      server.close();
    },
  };
}
