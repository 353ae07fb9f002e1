import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { NatsConnection } from '@nats-io/nats-core';
import { ask, connectAs, hello, newConn } from '../../src/shared/connection.ts';
import { measureClock, SURE_MS } from '../../src/shared/clock.ts';
import { guestInvitation, hostInvitation, invitationIdOf } from '../../src/shared/join.ts';
import { newCode, readCode, shownCode } from '../../src/shared/code.ts';
import { subjects, WIRE_VERSION } from '../../src/shared/subjects.ts';
import words from '../../src/shared/words.json';
import { binary, Department } from './department.ts';
import { Device } from './devices.ts';

test('a code is read as it is shown or typed, and nothing else is a code', () => {
  for (let n = 0; n < 200; n++) {
    const code = newCode();
    expect(readCode(shownCode(code))).toBe(code);
    expect(readCode(` ${shownCode(code).toLowerCase().replaceAll('-', ' ')} `)).toBe(code);
  }
  for (const wrong of ['', 'ABCD-EFGH', 'ABCD-EFGH-JKM1', 'ABCD-EFGH-JKLO', 'ABCD-EFGH-JKMN-2'])
    expect(readCode(wrong), wrong).toBeNull();
});

test('the words are 256, all different, and none is a word of the birth room', () => {
  expect(new Set(words.words).size).toBe(256);
  for (const word of words.words) {
    expect(word).toMatch(/^[a-z]{4,11}$/);
    expect(['mother', 'baby', 'head', 'shoulder', 'left', 'right', 'arm', 'hand', 'push']).not.toContain(
      word,
    );
  }
});

describe.skipIf(!binary)('joining a record', { timeout: 30_000 }, () => {
  let department: Department;
  let host: Device;
  beforeAll(async () => {
    department = await Department.open();
    host = await (await Device.make('host')).begin();
    await host.share(department);
  }, 120_000);
  afterAll(async () => {
    await host?.follower.close();
    await department?.close();
  });

  const about = () => ({
    recordId: host.file.recordId,
    hostLane: host.lane,
    hostKey: host.publicKey,
    writes: true,
    departmentWrapKey: department.card.wrapKey,
  });
  async function invite(): Promise<string> {
    const code = newCode();
    const invitationId = invitationIdOf(code);
    const what = subjects.ask(host.file.recordId, host.lane, 'invite');
    await ask(host.follower.connection()!, what, { invitationId });
    return code;
  }
  async function knock(code: string): Promise<{ nc: NatsConnection; said: unknown }> {
    const conn = newConn();
    const nc = await connectAs(department.server(), { version: WIRE_VERSION, conn, as: 'invitation', code });
    return { nc, said: await hello(nc, conn) };
  }
  const own = (device: Device) => ({
    lane: device.lane,
    publicKey: device.publicKey,
    wrapKey: device.wrapKey,
  });

  test('both sides show the same four words, and after they were confirmed the key is there', async () => {
    const code = await invite();
    const guest = await Device.make('guest');
    const side = hostInvitation(host.follower.connection()!, { ...about(), code });
    const { nc } = await knock(code);
    const there = guestInvitation(nc, code, own(guest));
    const came = await side.came;
    expect(came!.words).toHaveLength(4);
    expect(await there.words).toEqual(came!.words);
    expect(came!.member).toEqual(guest.member);
    const state = { ...host.follower.state(), part: 'guest' as const, grant: 'a pass' };
    const { events: _events, ...head } = host.file;
    await side.confirm({ recordId: host.file.recordId, state, head });
    expect((await there.admitted).state.keys).toEqual(host.follower.state().keys);
    await nc.close();
  });

  test('a code opens once, ends, and must be one that was given out', async () => {
    const code = await invite();
    const first = await knock(code);
    expect(first.said).toEqual({ name: expect.stringContaining('guest') });
    const second = await knock(code);
    expect(second.said).toEqual({ refused: expect.stringMatching(/used already.*new code/) });
    const never = await knock(newCode());
    expect(never.said).toEqual({ refused: expect.stringMatching(/ended or never was/) });
    await Promise.all([first, second, never].map(({ nc }) => nc.close()));
  });

  test('who holds an invitation can neither read nor write the record', async () => {
    const code = await invite();
    const { nc } = await knock(code);
    const { recordId } = host.file;
    const heard: unknown[] = [];
    nc.subscribe(subjects.record(recordId), {
      callback: (error, message) => void heard.push(error ?? message),
    });
    await host.call(1);
    await expect(nc.request(subjects.lane(recordId, host.lane), 'x', { timeout: 800 })).rejects.toThrow(
      /permission/i,
    );
    expect(heard.length).toBeGreaterThan(0);
    expect(heard.every((one) => one instanceof Error)).toBe(true);
    await nc.close();
  });

  test('somebody in between cannot make the words fit', async () => {
    const code = await invite();
    const guest = await Device.make('guest');
    const between = await Device.make('between');
    const side = hostInvitation(host.follower.connection()!, { ...about(), code });
    // A server that lies: to the host it is the guest, to the guest it is the host.
    const relay = await Device.make('relay');
    const { nc } = await knock(code);
    const toHost = guestInvitation(nc, code, own(between));
    toHost.admitted.catch(() => {});
    const wire = (from: 'host' | 'guest') =>
      ({
        publish: (_: string, text: string) =>
          queueMicrotask(() => wires[from === 'host' ? 'guest' : 'host'](text)),
        subscribe: (_: string, { callback }: { callback: (e: null, m: { json: () => unknown }) => void }) => {
          wires[from] = (text) => callback(null, { json: () => JSON.parse(text) });
          return { unsubscribe: () => {} };
        },
        flush: async () => {},
      }) as never as NatsConnection;
    const wires: Record<'host' | 'guest', (text: string) => void> = { host: () => {}, guest: () => {} };
    const false_ = hostInvitation(wire('host'), {
      ...about(),
      hostLane: relay.lane,
      hostKey: relay.publicKey,
      code,
    });
    const deceived = guestInvitation(wire('guest'), code, own(guest));
    deceived.admitted.catch(() => {});
    const [atRecord, atGuest] = [(await side.came)!.words, await deceived.words];
    expect(atGuest).toHaveLength(4);
    expect(atRecord).not.toEqual(atGuest);
    side.decline();
    await expect(toHost.admitted).rejects.toThrow(/said no/);
    false_.stop();
    deceived.stop();
    await nc.close();
  });

  test('the record’s clock is had within 50 ms; where nobody answers there is none', async () => {
    const { recordId } = host.file;
    const guest = await Device.make('guest');
    await host.admit(guest, department);
    const nc = guest.follower.connection()!;
    const clock = await measureClock(nc, recordId, host.lane);
    expect(clock!.withinMs).toBeLessThan(SURE_MS);
    expect(Math.abs(clock!.recordMs - clock!.performanceMs)).toBeLessThan(SURE_MS);
    expect(await measureClock(nc, recordId, 'nobody')).toBeNull();
    await guest.follower.close();
  });
});
