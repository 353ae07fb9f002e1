import { type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { nkeyAuthenticator, type NatsConnection } from '@nats-io/nats-core';
import { connect } from '@nats-io/transport-node';
import { newPass } from '../../src/server/shared/access.ts';
import { logServer } from '../../src/server/shared/binary.ts';
import type { Ports } from '../../src/server/shared/files.ts';
import { startLog } from '../../src/server/shared/run.ts';
import { openAccess, type Access } from '../../src/server/shared/access.ts';
import { setUp, type Kept } from '../../src/server/shared/set-up.ts';
import type { Server } from '../../src/shared/connection.ts';
import type { DepartmentKeyFile } from '../../src/shared/department-key.ts';
import type { DepartmentCard, Role } from '../../src/shared/subjects.ts';

/** Where the log server cannot be had, why: its tests are skipped with this reason and counted. */
export const { binary, why } = (() => {
  try {
    return { binary: logServer(), why: '' };
  } catch (error) {
    return { binary: null, why: error instanceof Error ? error.message : String(error) };
  }
})();
if (why) console.log(`Tests of shared records are skipped: ${why}`);

async function freePorts(count: number): Promise<number[]> {
  const servers = await Promise.all(
    Array.from(
      { length: count },
      () =>
        new Promise<ReturnType<typeof createServer>>((done) => {
          const server = createServer().listen(0, '127.0.0.1', () => done(server));
        }),
    ),
  );
  const ports = servers.map((server) => (server.address() as { port: number }).port);
  await Promise.all(servers.map((server) => new Promise((done) => server.close(done))));
  return ports;
}

export class Department {
  logs: (ChildProcess | null)[] = [];
  access!: Access;
  private constructor(
    readonly folder: string,
    readonly kept: Kept,
    readonly key: DepartmentKeyFile,
    readonly card: DepartmentCard,
  ) {}

  /** A department of its own in a folder of its own, running on loopback. */
  static async open(options: { nodes?: 3; mostRecordBytes?: number } = {}): Promise<Department> {
    const folder = mkdtempSync(join(tmpdir(), 'utterlog-department-'));
    const [client, browsers, cluster, leaf] = await freePorts(4);
    let ports: Ports = { client: client!, browsers: browsers!, cluster: cluster!, leaf: leaf! };
    if (options.nodes) {
      // Three neighbours, ten apart: a stretch of ports of this run's own.
      const base = 20_000 + (process.pid % 400) * 100;
      ports = { client: base, browsers: base + 1, cluster: base + 2, leaf: base + 3 };
    }
    const { kept, key, card } = await setUp({
      host: 'localhost',
      folder: join(folder, 'server'),
      keyFile: join(folder, 'key.json'),
      departmentName: 'Invented department',
      ports,
      mostRecordBytes: options.mostRecordBytes,
      ...(options.nodes ? { nodes: ['127.0.0.1', '127.0.0.1', '127.0.0.1'] } : {}),
    });
    const department = new Department(folder, kept, key, card);
    for (const at of kept.configs.keys()) department.startLog(at);
    department.access = await openAccess(kept.access);
    return department;
  }

  startLog(at = 0): void {
    this.logs[at] = startLog(binary!, this.kept.configs[at]!);
  }
  /** As a power cut does. */
  async killLog(at = 0): Promise<void> {
    const log = this.logs[at];
    if (!log) return;
    this.logs[at] = null;
    await new Promise<void>((done) => {
      log.once('exit', () => done());
      log.kill('SIGKILL');
    });
  }
  loseDisk(at = 0): void {
    rmSync(join(this.folder, `server/store-${at + 1}`), { recursive: true, force: true });
  }

  pass(name: string, ...roles: Role[]): string {
    return newPass(this.kept.access, name, roles, 1);
  }

  /** As devices reach it, but over TCP; `through`: another port that leads there. */
  server(through?: number): Server {
    const address = through ? [`127.0.0.1:${through}`] : this.kept.access.servers;
    return { open: (options) => connect({ ...options, servers: address }), address: address[0]! };
  }

  /** With the gate's own rights: to fill the server quickly. */
  insider(): Promise<NatsConnection> {
    const { servers, userSeed } = this.kept.access;
    return connect({ servers, authenticator: nkeyAuthenticator(new TextEncoder().encode(userSeed)) });
  }

  async close(): Promise<void> {
    await this.access.stop();
    await Promise.all(this.logs.map((_, at) => this.killLog(at)));
    rmSync(this.folder, { recursive: true, force: true });
  }
}
