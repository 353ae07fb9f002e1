import { randomBytes } from 'node:crypto';
import { chmodSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { createAccount, createUser } from '@nats-io/nkeys';
import { cardOf, newDepartmentKey, type DepartmentKeyFile } from '../../shared/department-key.ts';
import type { DepartmentCard } from '../../shared/subjects.ts';
import type { AccessSettings } from './access.ts';
import { PORTS, proxyConfig, serverConfig, serviceUnits, type NodeSettings, type Ports } from './files.ts';

const HOME = join(import.meta.dirname, '../../..');
export const ACCOUNT = 'DEPARTMENT';
export const LOG_PATH = '/log';

export interface SetUp {
  /** Name of the host that browsers reach, e.g. records.hospital.example. */
  host: string;
  folder: string;
  /** The department's private key goes here: outside the folder. */
  keyFile: string;
  departmentName?: string;
  ports?: Ports;
  /** Names of three hosts; one server where absent. On loopback all three run here, on ports of their own. */
  nodes?: [string, string, string];
  binary?: string;
  mostDiskBytes?: number;
  mostRecordBytes?: number;
}

export interface Kept {
  host: string;
  /** One configuration file for each log server. */
  configs: string[];
  browserPorts: number[];
  access: AccessSettings;
}

export const keptFile = (folder: string) => join(folder, 'gate.json');
export const cardFile = (folder: string) => join(folder, 'public/shared.json');

/** Seeds are text. */
const seedOf = (pair: { getSeed: () => Uint8Array }) => new TextDecoder().decode(pair.getSeed());

function refuseWhere(options: SetUp): void {
  const folder = resolve(options.folder);
  if (existsSync(keptFile(folder)))
    throw new Error(`${folder} is set up already. Nothing was changed. Name another folder, or start it.`);
  if (resolve(options.keyFile).startsWith(folder + '/'))
    throw new Error(
      'The department’s private key must not lie in the server’s folder. Nothing was written; name another place with --key.',
    );
  if (existsSync(options.keyFile))
    throw new Error(
      `${options.keyFile} is there already. Nothing was written; name another file with --key.`,
    );
  if (!/^[A-Za-z0-9.:-]+$/.test(options.host))
    throw new Error(`"${options.host}" is no name of a host. Nothing was written.`);
}

const portsOf = (ports: Ports, at: number, apart: boolean): Ports =>
  apart
    ? {
        client: ports.client + at * 10,
        browsers: ports.browsers + at * 10,
        cluster: ports.cluster + at * 10,
        leaf: ports.leaf + at * 10,
      }
    : ports;

/** Writes everything that a department's server needs, and the department's key apart from it. */
export async function setUp(
  options: SetUp,
): Promise<{ kept: Kept; key: DepartmentKeyFile; card: DepartmentCard }> {
  refuseWhere(options);
  const folder = resolve(options.folder);
  const { host, ports = PORTS, nodes } = options;
  const [issuer, gate, system, leaf] = [createAccount(), createUser(), createUser(), createUser()];
  const password = randomBytes(18).toString('base64url');
  const oneHost = !nodes || new Set(nodes).size === 1;
  const names = nodes ?? ['127.0.0.1'];
  const shared = {
    account: ACCOUNT,
    issuer: issuer.getPublicKey(),
    gate: gate.getPublicKey(),
    system: system.getPublicKey(),
    leaf: leaf.getPublicKey(),
    mostDiskBytes: options.mostDiskBytes,
  };
  const all = names.map((_, at) => portsOf(ports, at, oneHost && names.length > 1));
  mkdirSync(folder, { recursive: true });
  mkdirSync(join(folder, 'public'), { recursive: true });
  const configs = names.map((name, at) => {
    const routes = names.map((other, to) => `${other}:${all[to]!.cluster}`);
    const node: NodeSettings = {
      ...shared,
      name: `log-${at + 1}`,
      listen: oneHost ? '127.0.0.1' : name,
      ports: all[at]!,
      storeFolder: join(folder, `store-${at + 1}`),
      ...(nodes ? { cluster: { listen: oneHost ? '127.0.0.1' : name, routes, password } } : {}),
    };
    const file = join(folder, `log-${at + 1}.conf`);
    writeFileSync(file, serverConfig(node), { mode: 0o600 });
    return file;
  });
  const access: AccessSettings = {
    servers: names.map((name, at) => `${oneHost ? '127.0.0.1' : name}:${all[at]!.client}`),
    issuerSeed: seedOf(issuer),
    userSeed: seedOf(gate),
    systemSeed: seedOf(system),
    grantKey: randomBytes(32).toString('base64url'),
    account: ACCOUNT,
    replicas: nodes ? 3 : 1,
    ...(options.mostRecordBytes ? { mostBytes: options.mostRecordBytes } : {}),
  };
  const kept: Kept = { host, configs, browserPorts: all.map(({ browsers }) => browsers), access };
  writeFileSync(keptFile(folder), JSON.stringify(kept, null, 2), { mode: 0o600 });
  writeFileSync(join(folder, 'leaf.nk'), seedOf(leaf), { mode: 0o600 });
  const browsers = names.map((name, at) => `${oneHost ? '127.0.0.1' : name}:${all[at]!.browsers}`);
  const appFolder = join(HOME, 'dist');
  const publicFolder = join(folder, 'public');
  writeFileSync(join(folder, 'Caddyfile'), proxyConfig({ host, appFolder, publicFolder, browsers }));
  const units = serviceUnits({
    binary: options.binary ?? '/usr/local/bin/nats-server',
    configs,
    home: HOME,
    folder,
    node: process.execPath,
  });
  for (const [name, content] of Object.entries(units)) writeFileSync(join(folder, name), content);
  const key = await newDepartmentKey(options.departmentName ?? host);
  const card = cardOf(key, LOG_PATH);
  writeFileSync(cardFile(folder), JSON.stringify(card, null, 2));
  mkdirSync(dirname(resolve(options.keyFile)), { recursive: true });
  writeFileSync(options.keyFile, JSON.stringify(key, null, 2), { mode: 0o600 });
  chmodSync(options.keyFile, 0o600);
  return { kept, key, card };
}

/** @throws a sentence where the folder was not set up. */
export function readKept(folder: string): Kept {
  try {
    return JSON.parse(readFileSync(keptFile(folder), 'utf8')) as Kept;
  } catch {
    throw new Error(
      `${folder} is not set up. Nothing was started. First: npm run shared -- set-up --name HOST --folder ${folder}`,
    );
  }
}
