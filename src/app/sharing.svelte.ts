import { wsconnect } from '@nats-io/nats-core';
import { laneOf, laneSeqOf } from '../core/log/chain.ts';
import type { LogEvent, RecordFile } from '../core/log/events.ts';
import { ask, connectAs, hello, newConn, type Server } from '../shared/connection.ts';
import { measureClock, SURE_MS, type MeasuredClock } from '../shared/clock.ts';
import { newCode } from '../shared/code.ts';
import { readCard, readDepartmentKey, type DepartmentKeys } from '../shared/department-key.ts';
import { admitDesk, openForDesk, readList, type DepartmentList } from '../shared/desk.ts';
import { follow, type Follower, type FollowStatus } from '../shared/follow.ts';
import { guestInvitation, hostInvitation, invitationIdOf, type HostSide } from '../shared/join.ts';
import { keyMessage, newRecordKey } from '../shared/members.ts';
import {
  proofText,
  subjects,
  WIRE_VERSION,
  type Credentials,
  type DepartmentCard,
} from '../shared/subjects.ts';
import { SUMMARY_PURPOSE, type SharedSummary, type SummaryMessage } from '../shared/summaries.ts';
import { senderKey, utf8, wrapFor } from '../shared/wrapping.ts';
import { createRecord, deviceShelf, deviceWriter, readRecord } from '../store/records.ts';
import { departmentKeyKept, sharingKept, type Member, type SharingState } from '../store/sharing.ts';
import { signWith } from '../store/signature.ts';
import { emptySummary, extendSummary } from '../store/summary.ts';
import { wrapKeyOn } from '../store/wrap-key.ts';
import { clockFrom, type RecordClock } from './record-clock.ts';
import { settings } from './settings.svelte.ts';

/** What is needed of an open record; RunningRecord is one. */
export interface Sharable {
  recordId: string;
  readonly file: RecordFile;
  clock: RecordClock;
  readonly clockSettled: boolean;
  readonly view: { finishedAtMs: number | null };
  takeIn: (events: readonly LogEvent[]) => Promise<void>;
  onWritten: (listener: () => void) => () => void;
}

const wrapKey = wrapKeyOn(deviceShelf);
const MEASURE_EVERY_MS = 30_000;
const SUMMARY_AFTER_MS = 1_500;
const CLOCK_WAIT_MS = 2_500;
/** A difference under this is left alone: it is within what a round trip can tell. */
const STEADY_MS = 5;

const serverAt = (path: string): Server => {
  const address = new URL(path, location.href);
  address.protocol = location.protocol === 'https:' ? 'wss:' : 'ws:';
  return { open: wsconnect, address: address.href };
};

/** This device's own lane and keys. @throws a sentence where the browser has none. */
async function ownDevice() {
  const { writer, sign } = await deviceWriter();
  if (!sign || !writer.device)
    throw new Error(
      'This browser cannot sign (it knows no Ed25519), so it cannot share or join a record. Records on this device are not affected; a newer browser can.',
    );
  return { lane: writer.lane, publicKey: writer.device.publicKey, sign, wrapKey: await wrapKey() };
}

async function credentialsFor(recordId: string, grant: string): Promise<Credentials> {
  const { lane, publicKey, sign } = await ownDevice();
  const conn = newConn();
  const proof = await sign(proofText(conn, recordId, lane));
  return { version: WIRE_VERSION, conn, as: 'record', recordId, lane, publicKey, proof, grant };
}

function grantOf(state: SharingState): string {
  const grant = state.grant ?? settings.now.sharing?.pass;
  if (!grant) throw new Error('Sharing is turned off on this device. Turn it on in the settings.');
  return grant;
}

/** What a device gets on joining besides the key: the head of the file, which no event need hold. */
type RecordHead = Omit<RecordFile, 'events'>;

/** One shared record in this window. */
export class SharedRecord {
  status: FollowStatus = $state.raw({ link: 'connecting', unsent: 0, told: [] });
  state: SharingState = $state.raw()!;
  /** Another window of this device follows; this one shows what that one takes in. */
  elsewhere = $state(false);
  #follower: Follower | null = null;
  #letGo = () => {};
  #summaryTimer: ReturnType<typeof setTimeout> | undefined;
  #measuring: ReturnType<typeof setInterval> | undefined;
  #toldFinished: boolean | null = null;
  #number = Math.floor(Date.now() / 1000);
  #sender: Promise<{ privateKey: CryptoKey; publicKey: string }> | undefined;

  constructor(
    readonly record: Sharable,
    state: SharingState,
  ) {
    this.state = state;
  }

  get hosts(): boolean {
    return this.state.part === 'host' || this.state.part === 'desk';
  }
  get connection() {
    const nc = this.#follower?.connection();
    if (!nc || this.status.link !== 'online')
      throw new Error('The department’s server is not reached just now. Nothing was changed; try again.');
    return nc;
  }

  /** One window follows; the others wait until it closes. */
  async start(): Promise<void> {
    if (this.state.ended) return;
    const until = new Promise<void>((resolve) => (this.#letGo = resolve));
    const alone = `utterlog follows ${this.record.recordId}`;
    if (!navigator.locks) return this.#follow();
    this.elsewhere = true;
    await new Promise<void>((started) => {
      void navigator.locks.request(alone, async () => {
        this.elsewhere = false;
        await this.#follow().catch(() => {});
        started();
        await until;
      });
      // Another window has it: this one need not wait to go on.
      setTimeout(started, 300);
    });
  }

  async #follow(): Promise<void> {
    const { record } = this;
    const own = await ownDevice();
    this.#follower = follow({
      server: serverAt(this.state.path),
      credentials: await credentialsFor(record.recordId, grantOf(this.state)),
      state: this.state,
      unwrapKey: own.wrapKey.privateKey,
      keep: (state) => sharingKept.write(record.recordId, state),
      changed: () => this.#changed(),
      record: {
        recordId: record.recordId,
        lane: own.lane,
        events: () => record.file.events,
        takeIn: (events) => record.takeIn(events),
        onWritten: (listener) => record.onWritten(listener),
        clockMs: () => (record.clockSettled ? record.clock.nowMs() : null),
      },
    });
    record.onWritten(() => this.#tellSoon());
    if (!this.hosts) this.#measuring = setInterval(() => void this.#keepTime(), MEASURE_EVERY_MS);
  }

  #changed(): void {
    if (!this.#follower) return;
    this.status = this.#follower.status();
    this.state = this.#follower.state();
  }

  async untilOnline(limitMs = 8000): Promise<void> {
    const endMs = performance.now() + limitMs;
    while (this.status.link !== 'online') {
      if (this.status.link === 'refused') throw new Error(this.status.told.at(-1));
      if (this.elsewhere)
        throw new Error(
          'Another window of this device has this record; share it from there, or close that window.',
        );
      if (performance.now() > endMs)
        throw new Error(
          'The department’s server does not answer. The record goes on here; it is shared as soon as the server is back.',
        );
      await new Promise((done) => setTimeout(done, 50));
    }
  }

  /** Says who belongs, and turns the key over where somebody went. */
  async #tellMembers(change: Partial<SharingState>, newKey: boolean): Promise<void> {
    const { sign, lane } = await ownDevice();
    const before = this.#follower!.state();
    const epoch = before.epoch + (newKey ? 1 : 0);
    const keys = newKey ? { ...before.keys, [epoch]: newRecordKey() } : before.keys;
    const next = { ...before, ...change, epoch, keys };
    const message = await keyMessage(this.record.recordId, next, (this.#number += 1), 'host', sign);
    const nc = this.connection;
    await nc.request(subjects.keysOf(this.record.recordId, lane), JSON.stringify(message), { timeout: 4000 });
    await this.#follower!.adopt(message);
    this.#changed();
  }
  firstMembers = () => this.#tellMembers({}, false);

  /** An invitation that ends by itself after two minutes. `writes` false: a wall screen. */
  async invite(writes: boolean): Promise<{ code: string; link: string; side: HostSide }> {
    const { recordId } = this.record;
    const own = await ownDevice();
    const code = newCode();
    const nc = this.connection;
    await ask(nc, subjects.ask(recordId, own.lane, 'invite'), { invitationId: invitationIdOf(code) });
    const { hostLane, hostKey, departmentWrapKey } = this.state;
    const side = hostInvitation(nc, { recordId, code, hostLane, hostKey, writes, departmentWrapKey });
    return { code, link: new URL(`#/join/${code}`, location.href).href, side };
  }

  /** Somebody here said that the words are the same: from now on the device belongs to the record. */
  async admit(side: HostSide, member: Member): Promise<void> {
    const { recordId } = this.record;
    const { lane } = await ownDevice();
    const { grant } = await ask<{ grant: string }>(this.connection, subjects.ask(recordId, lane, 'admit'), {
      lane: member.lane,
      writes: member.writes,
    });
    const members = [...this.state.members.filter((one) => one.lane !== member.lane), member];
    await this.#tellMembers({ members }, false);
    const { events: _events, ...head } = this.record.file;
    const part = member.writes ? ('guest' as const) : ('wall' as const);
    const { ended: _ended, clock: _clock, ...state } = this.state;
    await side.confirm({ recordId, state: { ...state, part, grant }, head });
  }

  /** A device is lost or is to go: it is cut off, and what is written from now on is under a new key. */
  async sendAway(lane: string): Promise<void> {
    const { recordId, file } = this.record;
    const own = await ownDevice();
    const last = file.events.reduce(
      (most, event) => (laneOf(event) === lane ? Math.max(most, laneSeqOf(event)) : most),
      -1,
    );
    await this.#tellMembers(
      {
        members: this.state.members.filter((one) => one.lane !== lane),
        gone: [...this.state.gone.filter((one) => one.lane !== lane), { lane, lastSeq: last }],
      },
      true,
    );
    await ask(this.connection, subjects.ask(recordId, own.lane, 'send-away'), { lane });
  }

  /** This device goes. What it holds stays on it. */
  async leave(): Promise<void> {
    const { lane } = await ownDevice();
    const { recordId } = this.record;
    await this.#follower?.sync().catch(() => {});
    if (this.status.unsent > 0)
      throw new Error('Entries of this device are not sent yet. Stay until they are, or export the record.');
    await ask(this.connection, subjects.ask(recordId, lane, 'leave'));
    const ended = 'This device has left the record. What it holds stays here and can be exported.';
    this.state = { ...this.state, ended };
    await sharingKept.write(recordId, this.state);
    await this.close();
  }

  /** After a write: the department's list, and whether joined devices' rights end. */
  #tellSoon(): void {
    if (!this.hosts) return;
    clearTimeout(this.#summaryTimer);
    this.#summaryTimer = setTimeout(() => void this.#tellDepartment().catch(() => {}), SUMMARY_AFTER_MS);
  }

  async #tellDepartment(): Promise<void> {
    const { recordId, file } = this.record;
    const nc = this.connection;
    const { lane } = await ownDevice();
    const finished = this.record.view.finishedAtMs !== null;
    if (finished !== (this.#toldFinished ?? false))
      await ask(nc, subjects.ask(recordId, lane, finished ? 'finished' : 'reopened'));
    this.#toldFinished = finished;
    const summary = extendSummary(emptySummary(file), file.events);
    const { createdAt, changedAt, mode, reference, entryCount, signed } = summary;
    const shared: SharedSummary = {
      recordId,
      createdAt,
      changedAt,
      mode,
      reference,
      entryCount,
      finished,
      signed,
    };
    this.#sender ??= senderKey();
    const bytes = utf8(JSON.stringify(shared));
    const wrapped = await wrapFor(this.state.departmentWrapKey, bytes, SUMMARY_PURPOSE, await this.#sender);
    const message: SummaryMessage = { wrapped };
    await nc.request(subjects.summary(recordId), JSON.stringify(message), { timeout: 4000 });
  }

  /** Clocks of two devices drift apart by some milliseconds an hour. */
  async #keepTime(): Promise<void> {
    const nc = this.#follower?.connection();
    if (!nc || this.status.link !== 'online') return;
    const clock = await measureClock(nc, this.record.recordId, this.state.hostLane, 8);
    if (!clock || clock.withinMs > SURE_MS) return;
    const apartMs = clock.recordMs - this.record.clock.atPerformanceMs(clock.performanceMs);
    if (Math.abs(apartMs) > STEADY_MS) this.record.clock = clockFrom(clock.recordMs, clock.performanceMs);
    await keepClock(this.record.recordId, clock);
  }

  async close(): Promise<void> {
    clearInterval(this.#measuring);
    clearTimeout(this.#summaryTimer);
    await this.#follower?.close();
    this.#letGo();
  }
}

async function keepClock(recordId: string, clock: MeasuredClock): Promise<void> {
  const state = await sharingKept.read(recordId);
  if (!state) return;
  const recordMs = clock.recordMs + performance.now() - clock.performanceMs;
  await sharingKept.write(recordId, { ...state, clock: { recordMs, wallMs: Date.now() } });
}

/** Steps of joining, for the screen. */
export type Joining =
  | { kind: 'asking' }
  | { kind: 'words'; words: string[] }
  | { kind: 'taking' }
  | { kind: 'joined'; recordId: string; part: 'guest' | 'wall' }
  | { kind: 'refused'; why: string };

class Sharing {
  records: ReadonlyMap<string, SharedRecord> = $state.raw(new Map());

  /** What this app's own server says of a department; null where it is none of a department's. */
  async card(): Promise<DepartmentCard> {
    const response = await fetch(new URL('shared.json', location.href), { cache: 'no-store' }).catch(
      () => null,
    );
    if (!response?.ok)
      throw new Error('The server of this app says nothing of shared records. Nothing was turned on.');
    return readCard(await response.json().catch(() => null));
  }

  /** Turns sharing on with a person's pass. @throws a sentence where the server does not take it. */
  async turnOn(pass: string): Promise<void> {
    const card = await this.card();
    const conn = newConn();
    const grant = pass.trim();
    const nc = await this.#within(
      connectAs(serverAt(card.path), { version: WIRE_VERSION, conn, as: 'department', grant }),
    );
    try {
      const said = await hello(nc, conn);
      if (!said)
        throw new Error('The department’s server does not answer. Nothing was turned on; try again.');
      if ('refused' in said) throw new Error(said.refused);
      const [body = ''] = grant.split('.');
      const { id } = JSON.parse(atob(body.replaceAll('-', '+').replaceAll('_', '/'))) as { id: string };
      const told = await ask<{ name: string; roles: string[] }>(nc, subjects.departmentAsk(id, 'pass'), {
        grant,
      });
      await this.#keep(card, grant, told);
    } finally {
      await nc.close();
    }
  }
  async #keep(card: DepartmentCard, pass: string, told: { name: string; roles: string[] }): Promise<void> {
    const { name: department, path, wrapKey: departmentKey, signKey } = card;
    const { name, roles } = told;
    const before = settings.now.sharing;
    if (before && before.wrapKey !== departmentKey)
      throw new Error(
        `This device belongs to ${before.department}; this server is another department’s. Nothing was changed. Turn sharing off first if it is to move.`,
      );
    await settings.change({
      sharing: { department, path, wrapKey: departmentKey, signKey, pass, name, roles },
    });
  }

  async #within<T>(work: Promise<T>, limitMs = 8000): Promise<T> {
    const late = new Promise<never>((_, reject) =>
      setTimeout(
        () => reject(new Error('The department’s server does not answer. Nothing was changed; try again.')),
        limitMs,
      ),
    );
    return Promise.race([work, late]);
  }

  /** Follows a record that is shared already, as soon as it is open here. */
  async attach(record: Sharable): Promise<void> {
    if (this.records.has(record.recordId)) return;
    const state = await sharingKept.read(record.recordId);
    if (!state) return;
    const shared = new SharedRecord(record, state);
    this.records = new Map(this.records).set(record.recordId, shared);
    await shared.start();
  }
  async detach(recordId: string): Promise<void> {
    const shared = this.records.get(recordId);
    const left = new Map(this.records);
    left.delete(recordId);
    this.records = left;
    await shared?.close();
  }

  /** Begins sharing an open record. */
  async share(record: Sharable): Promise<SharedRecord> {
    const known = this.records.get(record.recordId);
    if (known) {
      await known.untilOnline();
      return known;
    }
    const chosen = this.#chosen();
    const own = await ownDevice();
    const me: Member = {
      lane: own.lane,
      publicKey: own.publicKey,
      wrapKey: own.wrapKey.publicKey,
      writes: true,
    };
    const state: SharingState = {
      part: 'host',
      path: chosen.path,
      hostLane: own.lane,
      hostKey: own.publicKey,
      departmentWrapKey: chosen.wrapKey,
      departmentSignKey: chosen.signKey,
      epoch: 0,
      keys: { 0: newRecordKey() },
      members: [me],
      gone: [],
    };
    await sharingKept.write(record.recordId, state);
    const shared = new SharedRecord(record, state);
    this.records = new Map(this.records).set(record.recordId, shared);
    await shared.start();
    await shared.untilOnline();
    await shared.firstMembers();
    return shared;
  }

  /** The joining device's whole way; `step` tells the screen. */
  async join(code: string, step: (joining: Joining) => void): Promise<void> {
    try {
      step({ kind: 'asking' });
      const card = await this.card();
      const own = await ownDevice();
      const conn = newConn();
      const nc = await this.#within(
        connectAs(serverAt(card.path), { version: WIRE_VERSION, conn, as: 'invitation', code }),
      );
      try {
        const said = await hello(nc, conn);
        if (!said) throw new Error('The department’s server does not answer. Nothing was joined; try again.');
        if ('refused' in said) throw new Error(said.refused);
        const side = guestInvitation(nc, code, own);
        side.admitted.catch(() => {});
        const words = await side.words;
        if (words) step({ kind: 'words', words });
        const admitted = await side.admitted;
        step({ kind: 'taking' });
        if (admitted.state.departmentWrapKey !== card.wrapKey)
          throw new Error(
            'The record belongs to another department than this server. Nothing was joined, and no key was taken.',
          );
        const recordId = await this.#take(admitted.head, admitted.state);
        step({ kind: 'joined', recordId, part: admitted.state.part === 'wall' ? 'wall' : 'guest' });
      } finally {
        await nc.close();
      }
    } catch (error) {
      step({ kind: 'refused', why: error instanceof Error ? error.message : String(error) });
    }
  }

  /** Fetches the record, and its clock; without that the device is refused. */
  async #take(head: RecordHead, state: SharingState): Promise<string> {
    const { recordId } = head;
    const clock = await this.#measured(recordId, state);
    if (!clock || clock.withinMs > SURE_MS)
      throw new Error(
        clock
          ? `The record’s clock could not be had within ${SURE_MS} ms over this network (${Math.round(clock.withinMs)} ms). This device was not let in: its times would be wrong. Try again nearer to the access point.`
          : 'The record’s clock could not be had: the device that began the record does not answer. This device was not let in.',
      );
    const there = await readRecord(recordId);
    if (there.kind === 'missing') {
      const events = await this.#fetched(head, state);
      const outcome = await createRecord({ ...head, version: 2, events });
      if (outcome.kind === 'held')
        throw new Error('This device’s storage takes nothing. Nothing was joined; make room and try again.');
    } else if (there.kind !== 'ok')
      throw new Error('A copy of this record is on this device and cannot be read here. Nothing was joined.');
    const recordMs = clock.recordMs + performance.now() - clock.performanceMs;
    await sharingKept.write(recordId, { ...state, clock: { recordMs, wallMs: Date.now() } });
    return recordId;
  }

  // The department's desk -------------------------------------------------------------------------------------

  /** Takes the department's private key from its file; the browser gives it out no more. */
  async takeDepartmentKey(text: string): Promise<void> {
    const keys = await readDepartmentKey(text);
    const chosen = this.#chosen();
    if (keys.wrapPublic !== chosen.wrapKey)
      throw new Error(
        'This is another department’s key: it opens nothing on this server. It was not taken; choose the file of this department.',
      );
    await departmentKeyKept.write(keys);
  }
  hasDepartmentKey = async () => (await departmentKeyKept.read<DepartmentKeys>()) !== undefined;
  forgetDepartmentKey = () => departmentKeyKept.remove();

  #chosen() {
    const chosen = settings.now.sharing;
    if (!chosen) throw new Error('Sharing is turned off on this device. Turn it on in the settings.');
    return chosen;
  }
  async #departmentKeys(): Promise<DepartmentKeys> {
    const keys = await departmentKeyKept.read<DepartmentKeys>();
    if (!keys) throw new Error('The department’s key is not on this desk. Choose its file first.');
    return keys;
  }

  /** The list of all shared records that the department's key opens. */
  async departmentList(): Promise<DepartmentList> {
    const { pass: grant, path } = this.#chosen();
    const { wrapPrivate } = await this.#departmentKeys();
    const conn = newConn();
    const version = WIRE_VERSION;
    const nc = await this.#within(connectAs(serverAt(path), { version, conn, as: 'department', grant }));
    try {
      const said = await hello(nc, conn);
      if (said && 'refused' in said) throw new Error(said.refused);
      return await readList(nc, conn, wrapPrivate);
    } finally {
      await nc.close();
    }
  }

  /** Brings a record to this desk, where it can be read and signed off; the server logs that this desk opened it. */
  async openFromDepartment(recordId: string): Promise<void> {
    const there = await readRecord(recordId);
    if (there.kind === 'ok' && (await sharingKept.read(recordId))) return;
    if (there.kind !== 'missing')
      throw new Error(
        'A copy of this record is on this device already and was not shared from here. Nothing was changed; delete or export it first.',
      );
    const { path, pass, wrapKey: departmentKey, signKey } = this.#chosen();
    const keys = await this.#departmentKeys();
    const own = await ownDevice();
    const credentials = await credentialsFor(recordId, pass);
    const nc = await this.#within(connectAs(serverAt(path), credentials));
    try {
      const said = await hello(nc, credentials.conn);
      if (said && 'refused' in said) throw new Error(said.refused);
      const card = { path, wrapKey: departmentKey, signKey };
      const opened = await openForDesk(nc, credentials.conn, recordId, {
        card,
        wrapPrivate: keys.wrapPrivate,
      });
      const { lane, publicKey } = own;
      const desk: Member = { lane, publicKey, wrapKey: own.wrapKey.publicKey, writes: true };
      const signs = settings.now.sharing?.roles.some((role) => role === 'signs' || role === 'records');
      const state = signs
        ? await admitDesk(nc, recordId, opened, desk, signWith(keys.signPrivate))
        : { ...opened.state, part: 'wall' as const };
      const head = {
        recordId,
        createdAt: '',
        timeZone: '',
        spans: [],
        format: 'utterlog-record',
        version: 2,
      } as const;
      const events = await this.#fetched({ ...head, spans: [] }, state);
      const begin = events.find((event) => event.kind === 'begin');
      if (begin?.kind !== 'begin' || begin.record === undefined)
        throw new Error(
          'The beginning of this record is not on the server yet. Nothing was kept; try again.',
        );
      const { createdAt, timeZone, span } = begin.record;
      const outcome = await createRecord({ ...head, createdAt, timeZone, spans: [span], events });
      if (outcome.kind === 'held')
        throw new Error('This device’s storage takes nothing. Nothing was opened; make room and try again.');
      await sharingKept.write(recordId, state);
    } finally {
      await nc.close();
    }
  }

  /** All events of the record, through the same following that goes on later. */
  async #fetched(head: RecordHead, state: SharingState): Promise<LogEvent[]> {
    const own = await ownDevice();
    let events: LogEvent[] = [];
    const follower = follow({
      server: serverAt(state.path),
      credentials: await credentialsFor(head.recordId, grantOf(state)),
      state,
      unwrapKey: own.wrapKey.privateKey,
      keep: async () => {},
      changed: () => {},
      record: {
        recordId: head.recordId,
        lane: own.lane,
        events: () => events,
        takeIn: async (fresh) =>
          void (events = [...events, ...fresh.map((e, at) => ({ ...e, seq: events.length + at }))]),
        onWritten: () => () => {},
        clockMs: () => null,
      },
    });
    try {
      const endMs = performance.now() + 15_000;
      while (follower.status().link !== 'online' || events.length === 0) {
        if (follower.status().link === 'refused') throw new Error(follower.status().told.at(-1));
        if (performance.now() > endMs)
          throw new Error('The record could not be fetched from the server. Nothing was joined; try again.');
        await new Promise((done) => setTimeout(done, 30));
      }
      await follower.sync();
      return events;
    } finally {
      await follower.close();
    }
  }

  async #measured(recordId: string, state: SharingState): Promise<MeasuredClock | null> {
    const credentials = await credentialsFor(recordId, grantOf(state));
    const nc = await this.#within(connectAs(serverAt(state.path), credentials), CLOCK_WAIT_MS);
    try {
      const { lane: ownLane } = await ownDevice();
      const others = state.members.map(({ lane }) => lane).filter((one) => one !== ownLane);
      const lanes = [state.hostLane, ...others].filter(
        (one, at, all) => one !== ownLane && all.indexOf(one) === at,
      );
      for (const lane of lanes) {
        const clock = await measureClock(nc, recordId, lane);
        if (clock) return clock;
      }
      return null;
    } finally {
      await nc.close();
    }
  }

  /** The record's clock for a window that takes it up: from the other devices, else as this device last had it. */
  async clockOf(recordId: string): Promise<{ recordMs: number; performanceMs: number } | null> {
    const state = await sharingKept.read(recordId);
    if (!state || state.ended) return null;
    const measured = await this.#measured(recordId, state).catch(() => null);
    if (measured && measured.withinMs <= SURE_MS) {
      await keepClock(recordId, measured);
      return measured;
    }
    if (!state.clock || state.part === 'host') return null;
    const { recordMs, wallMs } = state.clock;
    return { recordMs: recordMs + Date.now() - wallMs, performanceMs: performance.now() };
  }
}

export const sharing = new Sharing();
