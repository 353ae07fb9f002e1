import type { NatsConnection, ConnectionOptions } from '@nats-io/nats-core';
import { subjects, type Credentials } from './subjects.ts';

/** How a connection is opened: WebSocket in the browser, TCP in Node. */
export type Open = (options: ConnectionOptions) => Promise<NatsConnection>;

export interface Server {
  open: Open;
  /** e.g. wss://records.hospital.example/log */
  address: string;
}

/** Let in, or refused with the server's sentence. Null while nobody answers. */
export type Hello = { name: string } | { refused: string } | null;

export const newConn = (): string => crypto.randomUUID().replaceAll('-', '');

/** Goes on trying until the server answers; `hello` says how this connection was let in. */
export async function connectAs(server: Server, credentials: Credentials): Promise<NatsConnection> {
  const { conn } = credentials;
  return server.open({
    servers: server.address,
    token: JSON.stringify(credentials),
    inboxPrefix: `_INBOX.${conn}`,
    waitOnFirstConnect: true,
    maxReconnectAttempts: -1,
    reconnectTimeWait: 200,
    reconnectJitter: 100,
    reconnectJitterTLS: 100,
    // A wire that went silent is noticed after two of these.
    pingInterval: 1000,
    maxPingOut: 2,
    timeout: 4000,
    noEcho: true,
    ignoreAuthErrorAbort: true,
  });
}

export async function hello(nc: NatsConnection, conn: string): Promise<Hello> {
  try {
    return (await nc.request(subjects.hello(conn), '', { timeout: 2000 })).json<Exclude<Hello, null>>();
  } catch {
    // Not answered, or the wire went in the middle: the next connection asks again.
    return null;
  }
}

/** Asks the gate. @throws its sentence where it refuses, or one of ours where it does not answer. */
export async function ask<T>(nc: NatsConnection, subject: string, what: object = {}): Promise<T> {
  let answer: T & { refused?: string };
  try {
    answer = (await nc.request(subject, JSON.stringify(what), { timeout: 4000 })).json();
  } catch {
    throw new Error('The department’s server does not answer. Nothing was changed there; try again.');
  }
  if (answer.refused) throw new Error(answer.refused);
  return answer;
}
