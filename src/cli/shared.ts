import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { createAppServer } from '../server/app-server.ts';
import { newPass, openAccess } from '../server/shared/access.ts';
import { logServer } from '../server/shared/binary.ts';
import { isRoles } from '../server/shared/grants.ts';
import { handOnLog, startAll } from '../server/shared/run.ts';
import { cardFile, readKept, setUp } from '../server/shared/set-up.ts';

const HOME = join(import.meta.dirname, '../..');
const USAGE = `Usage: npm run shared -- COMMAND
  set-up --name HOST [--folder F] [--key FILE] [--department NAME] [--nodes A,B,C]
      writes the log server's configuration, the proxy's, the services', and the department's key (apart)
  start [--folder F]      starts the log server and the gate of a folder that was set up
  gate [--folder F]       starts the gate alone (the service units use it)
  pass --name PERSON --roles records,reads,signs,administers [--days N] [--folder F]
      prints a pass, which a person gives to the app under Settings, Sharing
  try                     sets up and starts everything, with the app, on this machine only, in .cache/shared-try`;

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    name: { type: 'string' },
    folder: { type: 'string' },
    key: { type: 'string' },
    department: { type: 'string' },
    nodes: { type: 'string' },
    roles: { type: 'string' },
    days: { type: 'string' },
    port: { type: 'string' },
  },
});
const folder = resolve(values.folder ?? 'shared-server');
const say = (sentence: string) => console.error(sentence);
const untilStopped = (stop: () => Promise<void>) => {
  for (const signal of ['SIGINT', 'SIGTERM'] as const)
    process.once(signal, () => void stop().finally(() => process.exit(0)));
};

async function setUpHere(): Promise<void> {
  if (!values.name) throw new Error(`A host's name is needed.\n${USAGE}`);
  const nodes = values.nodes?.split(',');
  if (nodes && nodes.length !== 3) throw new Error('Three nodes are named, with commas between, or none.');
  const keyFile = resolve(values.key ?? 'department-key.json');
  await setUp({
    host: values.name,
    folder,
    keyFile,
    departmentName: values.department,
    nodes: nodes as [string, string, string] | undefined,
  });
  console.log(
    `Set up in ${folder}: the log server's configuration, Caddyfile, service units, public/shared.json.`,
  );
  console.log(
    `The department's private key is in ${keyFile}, and nowhere else. Take it off this machine now, keep`,
  );
  console.log(
    'two copies in two places, and give it to the desks that sign off. Without it no record is read there.',
  );
  console.log(`Next: npm run shared -- pass --name PERSON --roles records --folder ${folder}`);
}

async function start(): Promise<void> {
  const kept = readKept(folder);
  const running = await startAll(logServer(say), kept);
  for (const log of running.logs)
    log.on('exit', (code) => {
      console.error(
        `The log server stopped (${code ?? 'killed'}). Devices go on and send again when it is back.`,
      );
      process.exit(1);
    });
  untilStopped(running.stop);
  console.log(`The log server and the gate run; browsers reach them through the proxy on ${kept.host}.`);
}

async function gateAlone(): Promise<void> {
  const access = await openAccess(readKept(folder).access);
  untilStopped(access.stop);
  console.log('The gate runs.');
}

function pass(): void {
  const roles = values.roles?.split(',') ?? [];
  if (!values.name || !isRoles(roles)) throw new Error(`A pass needs a name and roles.\n${USAGE}`);
  console.log(newPass(readKept(folder).access, values.name, roles, Number(values.days ?? 30)));
}

async function tryHere(): Promise<void> {
  const tried = join(HOME, '.cache/shared-try');
  const keyFile = join(HOME, '.cache/shared-try-key.json');
  const binary = logServer(say);
  if (!existsSync(cardFile(tried))) {
    rmSync(keyFile, { force: true });
    rmSync(tried, { recursive: true, force: true });
    const ports = { client: 14222, browsers: 14443, cluster: 16222, leaf: 17422 };
    await setUp({ host: 'localhost', folder: tried, keyFile, departmentName: 'Tried out', ports });
  }
  const kept = readKept(tried);
  const dist = join(HOME, 'dist');
  if (!existsSync(join(dist, 'index.html')))
    throw new Error('The app is not built yet. Nothing was started. First: npm run build');
  const running = await startAll(binary, kept);
  const card = readFileSync(cardFile(tried), 'utf8');
  const server = await createAppServer(dist, undefined, { 'shared.json': card });
  handOnLog(server, () => kept.browserPorts[0]!);
  const port = Number(values.port ?? process.env.PORT ?? 4173);
  server.listen(port, '127.0.0.1', () => {
    const address = server.address();
    const shown = typeof address === 'object' && address ? address.port : port;
    console.log(
      `The app with shared records: http://localhost:${shown}/ (Ctrl+C stops it; for trying out only)`,
    );
    console.log(`The department's key: ${keyFile}`);
    const all = newPass(kept.access, 'Trying out', ['records', 'reads', 'signs', 'administers'], 30);
    console.log(`A pass with every role, for Settings, Sharing:\n${all}`);
  });
  untilStopped(async () => {
    server.close();
    await running.stop();
  });
}

const commands: Record<string, () => void | Promise<void>> = {
  'set-up': setUpHere,
  start,
  gate: gateAlone,
  pass,
  try: tryHere,
};

try {
  const [command] = positionals;
  const work = command !== undefined && Object.hasOwn(commands, command) ? commands[command] : undefined;
  if (!work) throw new Error(USAGE);
  await work();
} catch (error) {
  console.error(error instanceof Error ? error.message : String(error));
  process.exit(2);
}
