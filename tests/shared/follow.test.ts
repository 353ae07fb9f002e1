import { cpSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { headers } from '@nats-io/nats-core';
import { jetstream } from '@nats-io/jetstream';
import { hello } from '../../src/shared/connection.ts';
import { subjects } from '../../src/shared/subjects.ts';
import { binary, Department } from './department.ts';
import { Device, sleep, together, until } from './devices.ts';

describe.skipIf(!binary)('a record on two devices', { timeout: 60_000 }, () => {
  let department: Department;
  beforeAll(async () => {
    department = await Department.open();
  }, 120_000);
  afterAll(() => department?.close());

  async function two(): Promise<[Device, Device]> {
    const a = await (await Device.make('a')).begin();
    const b = await Device.make('b');
    await a.share(department);
    await a.admit(b, department);
    await together([a, b]);
    return [a, b];
  }
  const close = (...devices: Device[]) => Promise.all(devices.map((device) => device.follower.close()));

  test('what one writes is on the other, once and in one order', async () => {
    const [a, b] = await two();
    await a.call(3);
    await b.call(2);
    await together([a, b], 6);
    expect(a.names).toEqual(b.names);
    expect(new Set(a.names).size).toBe(6);
    await close(a, b);
  });

  test('the server is killed while both write: nothing is lost, everything is there once', async () => {
    const [a, b] = await two();
    const writing = Promise.all([a.call(60), b.call(60)]);
    await sleep(20);
    await department.killLog();
    await writing;
    await a.call(5);
    department.startLog();
    await together([a, b], 126, 30_000);
    expect(a.names).toEqual(b.names);
    await until('all is sent', () => a.follower.status().unsent + b.follower.status().unsent === 0);
    await close(a, b);
  });

  test('the server loses its disk: the devices fill it again, also for one who is gone', async () => {
    const [a, b] = await two();
    await a.call(10);
    await b.call(10);
    await together([a, b], 21);
    await b.follower.close();
    await department.killLog();
    department.loseDisk();
    department.startLog();
    await a.call(1);
    // b does not come back: a hands on what b wrote, signed by b, after it waited for it.
    const c = await Device.make('c');
    await until('a is online', () => a.follower.status().link === 'online', 30_000);
    await a.admit(c, department);
    await together([a, c], 22, 40_000);
    await close(a, c);
  });

  test('a backup of the store that was put back holds everything, with no device there to help', async () => {
    const [a, b] = await two();
    await a.call(10);
    await together([a, b], 11);
    await until('all is sent', () => a.follower.status().unsent === 0);
    const state = a.follower.state();
    await close(a, b);
    await department.killLog();
    const store = join(department.folder, 'server/store-1');
    cpSync(store, `${store}.backup`, { recursive: true });
    department.loseDisk();
    cpSync(`${store}.backup`, store, { recursive: true });
    department.startLog();
    // A copy of the host that has nothing of its own: all of it comes from the server.
    const events = a.file.events.length;
    a.file = { ...a.file, events: [] };
    await a.follow(department, state, department.pass('a', 'records'));
    await until('everything is back', () => a.file.events.length === events, 30_000);
    await a.follower.close();
  });

  test('a full server says so, keeps what it has, and takes the rest when there is room', async () => {
    const small = await Department.open({ mostRecordBytes: 20_000 });
    const a = await (await Device.make('a')).begin();
    await a.share(small);
    await a.call(60);
    await until('it is told', () => /server is full/.test(a.follower.status().told.join()));
    expect(a.follower.status().unsent).toBeGreaterThan(0);
    expect(a.file.events).toHaveLength(61);
    const nc = await small.insider();
    const { jetstreamManager } = await import('@nats-io/jetstream');
    await (await jetstreamManager(nc)).streams.update('RECORDS', { max_bytes: 10_000_000 });
    await until('the rest is sent', () => a.follower.status().unsent === 0, 20_000);
    expect(a.follower.status().told.join()).not.toMatch(/full/);
    await nc.close();
    await a.follower.close();
    await small.close();
  });

  test('a device may write in its own lane of this record only, and the server sees to it', async () => {
    const [a, b] = await two();
    const nc = await b.alone(department, b.kept!.grant!);
    const js = jetstream(nc, { timeout: 1500 });
    const { recordId } = a.file;
    const refused = async (subject: string) =>
      expect(js.publish(subject, 'x'), subject).rejects.toThrow(/permission/i);
    await refused(subjects.lane(recordId, a.lane));
    await refused(subjects.lane('another', b.lane));
    await refused(subjects.keysOf(recordId, b.lane));
    await refused('$JS.API.STREAM.PURGE.RECORDS');
    await refused('$JS.API.STREAM.DELETE.RECORDS');
    await refused('$JS.API.STREAM.MSG.DELETE.RECORDS');
    await refused(`$JS.API.CONSUMER.CREATE.RECORDS.${'x'}.u.rec.another.>`);
    await refused(subjects.ask(recordId, b.lane, 'admit'));
    await nc.close();
    await close(a, b);
  });

  test('an event that is forged, moved, replayed or from nobody known is refused with a sentence', async () => {
    const [a, b] = await two();
    const [event] = await b.call(1);
    await together([a, b], 2);
    // The member b itself is hostile: it holds the key and its own lane.
    const { importRecordKey, sealEvent } = await import('../../src/shared/event-wire.ts');
    const key = await importRecordKey(b.kept!.keys[0]!);
    const nc = b.follower.connection()!;
    const send = async (lane: string, as: { s: number; e?: number; v?: number }, bytes: Uint8Array) => {
      const head = headers();
      head.set('v', String(as.v ?? 1));
      head.set('s', String(as.s));
      head.set('e', String(as.e ?? 0));
      nc.publish(subjects.lane(a.file.recordId, lane), bytes, { headers: head });
      await nc.flush();
    };
    const sealed = await sealEvent(key, a.file.recordId, event!);
    const told = () => a.follower.status().told.join('\n');
    await send(b.lane, { s: 7 }, sealed);
    await until('moved', () => /not what its device wrote, or not at its place/.test(told()));
    const changed = { ...event!, laneSeq: 1, entryId: 'other' } as typeof event;
    await send(b.lane, { s: 1 }, await sealEvent(key, a.file.recordId, changed!));
    await until('altered', () => a.follower.status().told.length >= 2);
    const { hashOf } = await import('../../src/core/log/chain.ts');
    const forged = { ...changed!, previousHash: event!.hash };
    forged.hash = hashOf(forged);
    await send(b.lane, { s: 1 }, await sealEvent(key, a.file.recordId, forged));
    await until('forged', () => /its device did not sign/.test(told()));
    await send(b.lane, { s: 2, v: 2 }, sealed);
    await until('newer', () => /newer version of the app/.test(told()));
    await send(b.lane, { s: 0 }, sealed);
    await sleep(200);
    expect(a.file.events.filter(({ hash }) => hash === event!.hash)).toHaveLength(1);
    expect(a.file.events).toHaveLength(2);
    await close(a, b);
  });

  test('a wall reads and may not write; nobody else’s pass, proof or old app gets in', async () => {
    const a = await (await Device.make('a')).begin();
    const wall = await Device.make('wall');
    await a.share(department);
    await a.admit(wall, department, { writes: false });
    await a.call(2);
    await together([a, wall], 3);
    const nc = await wall.alone(department, wall.kept!.grant!);
    await expect(
      jetstream(nc, { timeout: 1500 }).publish(subjects.lane(a.file.recordId, wall.lane), 'x'),
    ).rejects.toThrow(/permission/i);
    await nc.close();
    const refusal = async (change: object) => {
      const { connectAs } = await import('../../src/shared/connection.ts');
      const credentials = { ...(await wall.credentials(wall.kept!.grant!)), ...change };
      const other = await connectAs(department.server(), credentials);
      const said = await hello(other, credentials.conn);
      await other.close();
      return said && 'refused' in said ? said.refused : 'let in';
    };
    expect(await refusal({ version: 0 })).toMatch(/older or newer.*Reload/);
    expect(await refusal({ grant: 'x.y' })).toMatch(/not made by this server/);
    expect(await refusal({ recordId: 'another' })).toMatch(/did not show that the lane is its own/);
    expect(await refusal({ lane: a.lane })).toMatch(/did not show that the lane is its own/);
    const stranger = await Department.open();
    expect(await refusal({ grant: stranger.pass('x', 'records') })).toMatch(/not made by this server/);
    await stranger.close();
    await close(a, wall);
  });

  test('who is sent away is cut off, and the key is another from then on', async () => {
    const [a, b] = await two();
    await b.call(1);
    await together([a, b], 2);
    const { newRecordKey } = await import('../../src/shared/members.ts');
    const state = a.follower.state();
    await a.tellMembers({
      ...state,
      epoch: 1,
      keys: { ...state.keys, 1: newRecordKey() },
      members: state.members.filter(({ lane }) => lane !== b.lane),
      gone: [{ lane: b.lane, lastSeq: 0 }],
    });
    const asked = JSON.stringify({ lane: b.lane });
    await a.follower.connection()!.request(subjects.ask(a.file.recordId, a.lane, 'send-away'), asked);
    await until('b knows', () => b.follower.status().link === 'refused');
    expect(b.follower.status().told.join()).toMatch(/was sent away/);
    await a.call(1);
    expect(b.kept!.keys[1]).toBeUndefined();
    const again = await b.alone(department, b.kept!.grant!);
    expect(
      await hello(again, JSON.parse((again as never as { options: { token: string } }).options.token).conn),
    ).toEqual({
      refused: expect.stringMatching(/sent away/),
    });
    await again.close();
    await close(a, b);
  });
});
