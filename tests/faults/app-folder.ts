import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createAppServer } from '../../src/server/app-server.ts';

/** The built app, served; `own` makes a copy whose files a fault may change. */
export async function serveApp(
  dist: string,
  own = false,
): Promise<{ url: string; folder: string; stop: () => Promise<void> }> {
  const folder = own ? mkdtempSync(join(tmpdir(), 'utterlog-app-')) : dist;
  if (own) cpSync(dist, folder, { recursive: true });
  const server: Server = await createAppServer(folder);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/`,
    folder,
    stop: async () => {
      server.closeAllConnections();
      await new Promise((done) => server.close(done));
      if (own) rmSync(folder, { recursive: true });
    },
  };
}
