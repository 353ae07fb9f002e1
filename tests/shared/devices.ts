import { sealInRecord, arranged, rootOf } from '../../src/core/log/lanes.ts';
import type { EventBody, LogEvent, RecordFile } from '../../src/core/log/events.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { connectAs, newConn } from '../../src/shared/connection.ts';
import { follow, type Follower } from '../../src/shared/follow.ts';
import { keyMessage, newRecordKey } from '../../src/shared/members.ts';
import { proofText, subjects, WIRE_VERSION, type Credentials } from '../../src/shared/subjects.ts';
import { deviceKeyOn, signed, type DeviceWriter } from '../../src/store/device-key.ts';
import { memoryShelf } from '../../src/store/shelf.ts';
import type { SharingState } from '../../src/store/sharing.ts';
import { wrapKeyOn, type WrapKey } from '../../src/store/wrap-key.ts';
import type { Department } from './department.ts';

export const sleep = (ms: number) => new Promise<void>((done) => setTimeout(done, ms));

export async function until(
  what: string,
  is: () => boolean | Promise<boolean>,
  limitMs = 15_000,
): Promise<void> {
  const endMs = performance.now() + limitMs;
  while (!(await is())) {
    if (performance.now() > endMs) throw new Error(`not within ${limitMs} ms: ${what}`);
    await sleep(10);
  }
}

/** A device without a browser: its key, its copy of one record, and the app's own following. */
export class Device {
  file!: RecordFile;
  follower!: Follower;
  kept: SharingState | undefined;
  /** Set to simulate a device whose disk does not answer. */
  stalled = false;
  /** When each event was durable here, ms of performance.now(). */
  readonly at = new Map<string, number>();
  readonly #listeners = new Set<() => void>();
  #number = 0;
  private constructor(
    readonly name: string,
    readonly writer: DeviceWriter,
    readonly wrapKey: WrapKey,
  ) {}

  static async make(name: string): Promise<Device> {
    const shelf = memoryShelf();
    return new Device(name, await deviceKeyOn(shelf)(), await wrapKeyOn(shelf)());
  }

  get lane(): string {
    return this.writer.writer.lane;
  }
  get publicKey(): string {
    return this.writer.writer.device!.publicKey;
  }
  get member() {
    return { lane: this.lane, publicKey: this.publicKey, wrapKey: this.wrapKey.publicKey, writes: true };
  }
  get root(): string {
    return rootOf(this.file.events);
  }
  get view() {
    return foldRecord(this.file);
  }
  get names(): string[] {
    return this.file.events.map((event) => `${event.lane}:${event.laneSeq}`);
  }

  async begin(): Promise<this> {
    const wallMs = Date.UTC(2026, 2, 5, 14);
    const file = createRecordFile({
      recordId: crypto.randomUUID(),
      mode: 'practice',
      wallMs,
      createdAt: '2026-03-05T14:00:00.000+00:00',
      timeZone: 'Europe/London',
      writer: this.writer.writer,
    });
    this.file = { ...file, events: await signed(file.events, this.writer) };
    return this;
  }

  async write(...bodies: EventBody[]): Promise<LogEvent[]> {
    const made = {
      by: { kind: 'helper' },
      madeAtMs: Math.round(performance.now()),
      madeAt: '2026-03-05T14:00:01.000+00:00',
      writer: this.writer.writer,
    } as const;
    const events = await signed(sealInRecord(this.file.events, bodies, made), this.writer);
    this.file = { ...this.file, events: [...this.file.events, ...events] };
    for (const { hash } of events) this.at.set(hash, performance.now());
    for (const listener of this.#listeners) listener();
    return events;
  }

  /** Invented entries, so many. */
  async call(count = 1): Promise<LogEvent[]> {
    const all: LogEvent[] = [];
    for (let n = 0; n < count; n++) {
      const entryId = `${this.name}-${this.#number++}`;
      all.push(
        ...(await this.write({ kind: 'entry', entryId, entry: { code: 'push' }, atMs: n, timing: 'touch' })),
      );
    }
    return all;
  }

  async credentials(grant: string): Promise<Credentials> {
    const conn = newConn();
    const { recordId } = this.file;
    const proof = await this.writer.sign!(proofText(conn, recordId, this.lane));
    const { lane, publicKey } = this;
    return { version: WIRE_VERSION, conn, as: 'record', recordId, lane, publicKey, proof, grant };
  }

  async follow(department: Department, state: SharingState, grant: string, through?: number): Promise<void> {
    this.kept = state;
    this.follower = follow({
      server: department.server(through),
      credentials: await this.credentials(grant),
      state,
      unwrapKey: this.wrapKey.privateKey,
      keep: async (next) => void (this.kept = next),
      changed: () => {},
      record: {
        recordId: this.file.recordId,
        lane: this.lane,
        events: () => this.file.events,
        takeIn: async (events) => {
          while (this.stalled) await sleep(5);
          const known = new Set(this.file.events.map(({ hash }) => hash));
          const fresh = events.filter(({ hash }) => !known.has(hash));
          this.file = arranged({ ...this.file, events: [...this.file.events, ...fresh] });
          for (const { hash } of fresh) this.at.set(hash, performance.now());
          for (const listener of this.#listeners) listener();
        },
        onWritten: (listener) => {
          this.#listeners.add(listener);
          return () => this.#listeners.delete(listener);
        },
        clockMs: () => performance.now(),
      },
    });
  }

  /** Begins sharing its record: the first list of members, with itself only. */
  async share(
    department: Department,
    grant = department.pass(this.name, 'records'),
    through?: number,
  ): Promise<void> {
    const state: SharingState = {
      part: 'host',
      path: '/log',
      hostLane: this.lane,
      hostKey: this.publicKey,
      departmentWrapKey: department.card.wrapKey,
      departmentSignKey: department.card.signKey,
      epoch: 0,
      keys: { 0: newRecordKey() },
      members: [this.member],
      gone: [],
    };
    await this.follow(department, state, grant, through);
    await until('the host is online', () => this.follower.status().link === 'online');
    await this.tellMembers(state);
  }

  #told = 0;
  async tellMembers(state: SharingState): Promise<void> {
    const message = await keyMessage(this.file.recordId, state, this.#told++, 'host', this.writer.sign!);
    const nc = this.follower.connection()!;
    await nc.request(subjects.keysOf(this.file.recordId, this.lane), JSON.stringify(message));
    await this.follower.adopt(message);
  }

  /** Lets another device into this record without the dialogue of joining, which has tests of its own. */
  async admit(
    other: Device,
    department: Department,
    options: { writes?: boolean; through?: number } = {},
  ): Promise<void> {
    const { writes = true, through } = options;
    const { recordId } = this.file;
    const state = this.follower.state();
    const members = [...state.members, { ...other.member, writes }];
    await this.tellMembers({ ...state, members });
    const nc = this.follower.connection()!;
    const asked = JSON.stringify({ lane: other.lane, writes });
    const answer = await nc.request(subjects.ask(recordId, this.lane, 'admit'), asked);
    const { grant } = answer.json<{ grant: string }>();
    other.file = { ...this.file, events: [] };
    const part = writes ? 'guest' : 'wall';
    await other.follow(department, { ...this.follower.state(), part, grant }, grant, through);
    await until(`${other.name} is online`, () => other.follower.status().link === 'online');
  }

  /** A connection of this device's own beside the app's, to try what it may. */
  async alone(department: Department, grant: string) {
    return connectAs(department.server(), await this.credentials(grant));
  }
}

export const together = async (devices: Device[], count?: number, limitMs?: number): Promise<void> => {
  const same = () =>
    devices.every(
      (device) =>
        device.root === devices[0]!.root &&
        device.file.events.length === (count ?? devices[0]!.file.events.length),
    );
  try {
    await until('all devices hold the same', same, limitMs);
  } catch (error) {
    const told = devices.map(
      (d) => `${d.name}: ${d.file.events.length} ${JSON.stringify(d.follower.status())}`,
    );
    throw new Error(`${String(error)}; ${count ?? ''}\n${told.join('\n')}`);
  }
};
