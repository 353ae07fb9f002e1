import { hashOf } from '../../src/core/log/chain.ts';
import { Department } from '../shared/department.ts';
import { Device, sleep, until } from '../shared/devices.ts';
import { Wire } from '../shared/wire.ts';

/**
 * npm run faults:shared -- [TRIES] — two devices write in one record while something breaks, so many times for each
 * fault. Counted: events that a device held as durable and that are missing, doubled or changed anywhere afterwards.
 * Devices run the app's own following, over TCP, with their records in memory; what is killed keeps what was durable.
 */
const TRIES = Number(process.argv[2] ?? 40);
const only = process.argv[3];
const WRITES = 20;
const LIMIT_MS = 45_000;

interface Scene {
  department: Department;
  a: Device;
  b: Device;
  wireA: Wire;
  wireB: Wire;
  random: () => number;
}
interface Fault {
  name: string;
  nodes?: 3;
  /** Breaks and mends; runs while both devices write. */
  happen: (scene: Scene) => Promise<void>;
}

/** Mulberry32: the same moments in every run. */
function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

async function restarted(department: Department, at = 0): Promise<void> {
  department.startLog(at);
  await sleep(50);
}

const FAULTS: Fault[] = [
  {
    name: 'server killed mid-write',
    happen: async ({ department, random }) => {
      await sleep(random() * 250);
      await department.killLog();
      await sleep(random() * 800);
      await restarted(department);
    },
  },
  {
    name: 'server killed, its disk deleted',
    happen: async ({ department, random }) => {
      await sleep(random() * 250);
      await department.killLog();
      department.loseDisk();
      await sleep(random() * 300);
      await restarted(department);
    },
  },
  {
    name: 'device killed and started again',
    happen: async ({ b, department, wireB, random }) => {
      await sleep(random() * 250);
      wireB.cut();
      await b.follower.close();
      await sleep(random() * 500);
      wireB.mend();
      const state = b.kept!;
      await b.follow(department, state, state.grant!, wireB.port);
    },
  },
  {
    name: 'network cut or silent at random',
    happen: async ({ wireA, wireB, random }) => {
      for (let n = 0; n < 3; n++) {
        await sleep(random() * 150);
        const wire = random() < 0.5 ? wireA : wireB;
        if (random() < 0.5) wire.cut();
        else wire.silence();
        await sleep(random() * 900);
        wire.mend();
      }
    },
  },
  {
    name: 'one of three nodes lost',
    nodes: 3,
    happen: async ({ department, random }) => {
      await sleep(random() * 250);
      const at = Math.floor(random() * 3);
      await department.killLog(at);
      await sleep(1000 + random() * 4000);
      await restarted(department, at);
    },
  },
];

async function tryOnce(fault: Fault, department: Department, seed: number) {
  const random = seeded(seed);
  const ports = department.kept.access.servers.map((server) => Number(server.split(':')[1]));
  let turn = 0;
  // With three nodes each new connection tries the next, as a list of servers does.
  const to = () => ports[turn++ % ports.length]!;
  const [wireA, wireB] = [await Wire.open(to), await Wire.open(to)];
  const a = await (await Device.make('a')).begin();
  const b = await Device.make('b');
  await a.share(department, department.pass('a', 'records'), wireA.port);
  await a.admit(b, department, { through: wireB.port });
  await until('b has the beginning', () => b.file.events.length === 1);
  const write = async (device: Device) => {
    for (let n = 0; n < WRITES; n++) {
      await device.call(1);
      await sleep(random() * 25);
    }
  };
  await Promise.all([write(a), write(b), fault.happen({ department, a, b, wireA, wireB, random })]);
  const wanted = 1 + 2 * WRITES;
  const startMs = performance.now();
  const whole = () =>
    a.file.events.length >= wanted &&
    b.file.events.length >= wanted &&
    a.follower.status().unsent + b.follower.status().unsent === 0;
  await until('both hold everything', whole, LIMIT_MS).catch(() => {});
  const ms = performance.now() - startMs;
  const written = new Set([...a.at.keys(), ...b.at.keys()]);
  let lost = 0;
  for (const device of [a, b]) {
    const here = new Set(device.file.events.map(({ hash }) => hash));
    lost += [...written].filter((hash) => !here.has(hash)).length;
  }
  const doubled = [a, b].reduce((sum, { names }) => sum + names.length - new Set(names).size, 0);
  const changed = [a, b].reduce(
    (sum, { file }) => sum + file.events.filter((event) => hashOf(event) !== event.hash).length,
    0,
  );
  const same = a.root === b.root && a.names.join() === b.names.join();
  await Promise.all([a.follower.sync().catch(() => {}), b.follower.sync().catch(() => {})]);
  const unsent = a.follower.status().unsent + b.follower.status().unsent;
  const told = [...a.follower.status().told, ...b.follower.status().told];
  await Promise.all([a.follower.close(), b.follower.close()]);
  wireA.close();
  wireB.close();
  return { lost, doubled, changed, same, unsent, ms, told };
}

const at = (sorted: number[], share: number) =>
  sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))]!;

let wrong = 0;
console.log(
  '| fault | tries | events | lost | doubled | changed | different order or root | not on the server | together again, median s | longest s |',
);
console.log('|---|---|---|---|---|---|---|---|---|---|');
for (const fault of FAULTS) {
  if (only && !fault.name.includes(only)) continue;
  const department = await Department.open({ nodes: fault.nodes });
  const all: Awaited<ReturnType<typeof tryOnce>>[] = [];
  for (let n = 0; n < TRIES; n++) {
    const result = await tryOnce(fault, department, 1000 * FAULTS.indexOf(fault) + n);
    all.push(result);
    if (result.lost || !result.same || result.unsent)
      console.error(`try ${n} of ${fault.name}: ${JSON.stringify(result)}`);
  }
  await department.close();
  const sum = (of: (one: (typeof all)[number]) => number) => all.reduce((total, one) => total + of(one), 0);
  const times = all.map(({ ms }) => ms / 1000).sort((x, y) => x - y);
  const bad = [
    sum((r) => r.lost),
    sum((r) => r.doubled),
    sum((r) => r.changed),
    sum((r) => (r.same ? 0 : 1)),
    sum((r) => r.unsent),
  ];
  wrong += bad.reduce((total, n) => total + n, 0);
  const events = TRIES * (1 + 2 * WRITES);
  console.log(
    `| ${fault.name} | ${TRIES} | ${events} | ${bad.join(' | ')} | ${at(times, 0.5).toFixed(1)} | ${times.at(-1)!.toFixed(1)} |`,
  );
}
process.exit(wrong === 0 ? 0 : 1);
