import { spawn, type ChildProcess } from 'node:child_process';
import { createWriteStream } from 'node:fs';
import { connect as connectTo, type Socket } from 'node:net';
import type { IncomingMessage, Server } from 'node:http';
import { openAccess, type Access } from './access.ts';
import { LOG_PATH, type Kept } from './set-up.ts';

/** A log server that runs; its own words go to a file beside its configuration. */
export function startLog(binary: string, config: string): ChildProcess {
  const child = spawn(binary, ['-c', config], { stdio: ['ignore', 'pipe', 'pipe'] });
  const words = createWriteStream(config.replace(/\.conf$/, '.log'), { flags: 'a' });
  child.stdout!.pipe(words);
  child.stderr!.pipe(words);
  return child;
}

export interface Running {
  logs: ChildProcess[];
  access: Access;
  stop: () => Promise<void>;
}

/** The log servers of this folder and the gate. */
export async function startAll(binary: string, kept: Kept): Promise<Running> {
  const logs = kept.configs.map((config) => startLog(binary, config));
  const access = await openAccess(kept.access);
  const stop = async () => {
    await access.stop();
    await Promise.all(
      logs.map(
        (log) =>
          new Promise<void>((done) => {
            if (log.exitCode !== null || log.signalCode !== null) return done();
            log.once('exit', () => done());
            log.kill('SIGTERM');
          }),
      ),
    );
  };
  return { logs, access, stop };
}

/** Hands the browsers' connections at /log of an app server on to the log server, as the proxy does. */
export function handOnLog(server: Server, portOf: () => number): void {
  server.on('upgrade', (request: IncomingMessage, socket: Socket, head: Buffer) => {
    if (request.url !== LOG_PATH) return void socket.destroy();
    const log = connectTo(portOf(), '127.0.0.1', () => {
      const lines = [`GET / HTTP/1.1`];
      for (let at = 0; at < request.rawHeaders.length; at += 2)
        lines.push(`${request.rawHeaders[at]}: ${request.rawHeaders[at + 1]}`);
      log.write(`${lines.join('\r\n')}\r\n\r\n`);
      if (head.length > 0) log.write(head);
      socket.pipe(log).pipe(socket);
    });
    log.on('error', () => socket.destroy());
    log.on('close', () => socket.destroy());
    socket.on('error', () => log.destroy());
    socket.on('close', () => log.destroy());
    socket.setNoDelay(true);
    log.setNoDelay(true);
  });
}
