import { headers, type Msg, type NatsConnection } from '@nats-io/nats-core';
import { jetstream, type JetStreamClient } from '@nats-io/jetstream';
import { eventName, hashOf, laneOf, laneSeqOf, NO_EVENT_HASH } from '../core/log/chain.ts';
import type { LogEvent } from '../core/log/events.ts';
import type { SharingState } from '../store/sharing.ts';
import { checkSignature } from '../store/signature.ts';
import { connectAs, hello, type Server } from './connection.ts';
import { importRecordKey, openEvent, sealEvent } from './event-wire.ts';
import { isGenuine, keyOf, type KeyMessage } from './members.ts';
import { readAll } from './reading.ts';
import { laneOfSubject, STREAMS, subjects, WIRE_VERSION, type Credentials } from './subjects.ts';

/** The record on this device, which stays the source of truth. */
export interface FollowedRecord {
  recordId: string;
  /** This device's lane. */
  lane: string;
  /** Durable on this device, in the order of the record. */
  events: () => readonly LogEvent[];
  /** Makes events of other devices durable here; each follows from what is here. */
  takeIn: (events: LogEvent[]) => Promise<void>;
  /** Calls back when events were added here. */
  onWritten: (listener: () => void) => () => void;
  /** Record time now; null while this device has no clock that another may take. */
  clockMs: () => number | null;
}

export interface FollowStatus {
  /** `refused`: by the server, for good. */
  link: 'connecting' | 'online' | 'offline' | 'refused';
  /** Own events that the server has not acknowledged. */
  unsent: number;
  /** What came and was not taken in, or what the server would not take: sentences, newest last. */
  told: string[];
}

export interface Follower {
  status: () => FollowStatus;
  state: () => SharingState;
  /** The connection, for joining and asking; null before the first. */
  connection: () => NatsConnection | null;
  conn: string;
  /** Takes a key message of this device's own as if it had come. */
  adopt: (message: KeyMessage) => Promise<void>;
  /** Compares all there is with the server, now. */
  sync: () => Promise<void>;
  close: () => Promise<void>;
}

export interface FollowOptions {
  server: Server;
  record: FollowedRecord;
  state: SharingState;
  credentials: Credentials;
  unwrapKey: CryptoKey;
  /** Keeps the state on the device. */
  keep: (state: SharingState) => Promise<void>;
  changed: () => void;
}

const COMPARE_MS = 3_000;
const REOPEN_MS = 1_000;
const WHOLE_MS = 30_000;
/** How long a lane's own device is waited for before another hands its events on. */
const CARRY_AFTER_MS = 10_000;
const AT_ONCE = 100;
const MOST_TOLD = 20;

const keyOfPlace = (lane: string, seq: number | string) => `${lane}:${seq}`;

/**
 * Keeps one record in step with the department's log: own events go up, those of other devices come down. What is
 * held here and what is held there are compared on every connection and every three seconds, so that nothing
 * depends on a message that was lost, or on a server that still has its disk.
 */
export function follow(options: FollowOptions): Follower {
  const following = new Following(options);
  following.begin();
  return following;
}

class Following implements Follower {
  readonly conn: string;
  #nc: NatsConnection | null = null;
  #js: JetStreamClient | null = null;
  #link: FollowStatus['link'] = 'connecting';
  #state: SharingState;
  #keys = new Map<number, CryptoKey>();
  #newestNumber = -1;
  #closed = false;
  /** What the server holds, by place. */
  #there = new Set<string>();
  #newestThere = 0;
  #wholeAt = 0;
  #waiting = new Map<string, LogEvent>();
  #missingSince = new Map<string, number>();
  #told = new Map<string, string>();
  /** A strange lane may be that of a device whose admission is still on its way. */
  #strange = new Map<string, number>();
  #timer: ReturnType<typeof setInterval> | undefined;
  #unlisten = () => {};

  constructor(readonly options: FollowOptions) {
    this.conn = options.credentials.conn;
    this.#state = options.state;
  }

  status = (): FollowStatus => ({
    link: this.#link,
    unsent: this.#own().filter((event) => !this.#isThere(event)).length,
    told: [...this.#told.values()],
  });
  state = () => this.#state;
  connection = () => this.#nc;

  #own = (): LogEvent[] => {
    const { record } = this.options;
    return record.events().filter((event) => event.lane === record.lane);
  };
  #isThere = (event: LogEvent) => this.#there.has(keyOfPlace(laneOf(event), laneSeqOf(event)));

  #tell(id: string, sentence: string): void {
    if (this.#told.get(id) === sentence) return;
    this.#told.set(id, sentence);
    for (const old of this.#told.keys()) {
      if (this.#told.size <= MOST_TOLD) break;
      this.#told.delete(old);
    }
    this.options.changed();
  }
  #untell(id: string): void {
    if (this.#told.delete(id)) this.options.changed();
  }
  #setLink(link: FollowStatus['link']): void {
    this.#link = link;
    this.options.changed();
  }

  begin(): void {
    void this.run().catch(() => this.#reopen());
  }

  async run(): Promise<void> {
    const { record, server, credentials } = this.options;
    await this.#importKeys();
    this.#unlisten();
    this.#unlisten = record.onWritten(() => void this.#send());
    const nc = await connectAs(server, credentials);
    if (this.#closed) return void nc.close();
    void nc.closed().then(() => this.#reopen());
    this.#nc = nc;
    this.#js = jetstream(nc, { timeout: 3000 });
    void this.#watch(nc);
    const { recordId, lane } = record;
    nc.subscribe(subjects.clock(recordId, lane), {
      callback: (error, message) => void (error ?? this.#tellClock(message)),
    });
    nc.subscribe(subjects.record(recordId), {
      callback: (error, message) => void (error ?? this.#live(message)),
    });
    nc.subscribe(subjects.keys(recordId), {
      callback: (error, message) => void (error ?? this.#keyCame(message)),
    });
    await this.#connected();
    this.#timer = setInterval(() => void this.sync().catch(() => {}), COMPARE_MS);
  }

  /** A connection that the library has given up is made anew. */
  #reopen(): void {
    if (this.#closed) return;
    clearInterval(this.#timer);
    this.#setLink('offline');
    setTimeout(() => {
      if (!this.#closed) void this.run().catch(() => this.#reopen());
    }, REOPEN_MS);
  }

  async #watch(nc: NatsConnection): Promise<void> {
    for await (const status of nc.status()) {
      if (status.type === 'disconnect') this.#setLink('offline');
      if (status.type === 'reconnect') await this.#connected().catch(() => {});
      if (status.type === 'error' && /permissions violation/i.test(String(status.error)))
        this.#tell(
          'right',
          'The server refused what this device has no right to. Nothing of it was taken there.',
        );
    }
  }

  /** After each (re)connection nothing that was known of the server counts any more. */
  async #connected(): Promise<void> {
    this.#wholeAt = 0;
    const said = await hello(this.#nc!, this.conn);
    if (said && 'refused' in said) {
      this.#tell('refused', said.refused);
      this.#setLink('refused');
      await this.close();
      return;
    }
    if (said) this.#setLink('online');
    await this.sync().catch(() => {});
  }

  // Keys -----------------------------------------------------------------------------------------------------

  async #importKeys(): Promise<void> {
    for (const [epoch, key] of Object.entries(this.#state.keys))
      if (!this.#keys.has(Number(epoch))) this.#keys.set(Number(epoch), await importRecordKey(key));
  }

  async #keyCame(message: Msg): Promise<void> {
    try {
      await this.adopt(message.json<KeyMessage>());
    } catch {
      this.#tell('key', 'Something that is no list of members came from the server. It was passed over.');
    }
  }

  async adopt(message: KeyMessage): Promise<void> {
    const { record, unwrapKey, keep } = this.options;
    if (!(await isGenuine(message, record.recordId, this.#state))) {
      const sentence =
        'A list of members came that neither this record’s host nor its department signed. It was passed over.';
      return this.#tell('forged-members', sentence);
    }
    const { epoch, number } = message;
    this.#seenEpochs.add(epoch);
    if (record.lane === message.hostLane) this.#keepList(message);
    const newer = epoch > this.#state.epoch || (epoch === this.#state.epoch && number > this.#newestNumber);
    const keys = { ...this.#state.keys };
    keys[epoch] ??= (await keyOf(message, record.lane, unwrapKey)) ?? '';
    if (keys[epoch] === '') delete keys[epoch];
    if (!newer) {
      this.#state = { ...this.#state, keys };
      await this.#importKeys();
      return;
    }
    this.#newestNumber = number;
    const { members, gone } = message;
    const sentAway = gone.some(({ lane }) => lane === record.lane);
    const ended = sentAway
      ? 'This device was sent away from the record. What it holds stays here and can be exported; nothing new comes.'
      : this.#state.ended;
    this.#state = { ...this.#state, epoch, keys, members, gone, ...(ended ? { ended } : {}) };
    await this.#importKeys();
    await keep(this.#state);
    this.options.changed();
    if (sentAway) {
      this.#tell('refused', ended!);
      this.#setLink('refused');
      await this.close();
    } else void this.sync().catch(() => {});
  }

  /** Epochs whose list the server holds. */
  readonly #seenEpochs = new Set<number>();

  #keepList(message: KeyMessage): void {
    const known = this.#state.lists?.[message.epoch] as KeyMessage | undefined;
    if (known && known.number >= message.number) return;
    this.#state = { ...this.#state, lists: { ...this.#state.lists, [message.epoch]: message } };
  }

  /** What a server without its disk has lost of who belongs. */
  async #tellListsAgain(): Promise<void> {
    const { recordId, lane } = this.options.record;
    for (const [epoch, list] of Object.entries(this.#state.lists ?? {})) {
      if (this.#seenEpochs.has(Number(epoch))) continue;
      await this.#js!.publish(subjects.keysOf(recordId, lane), JSON.stringify(list));
    }
  }

  // Down -----------------------------------------------------------------------------------------------------

  #queue: Promise<void> = Promise.resolve();

  /** What comes is taken one after the other: an event waits for those before it. */
  #live(message: Msg): void {
    this.#queue = this.#queue.then(() => this.#come(message)).catch(() => {});
  }

  async #come(message: Pick<Msg, 'subject' | 'headers' | 'data'>): Promise<void> {
    const event = await this.#judge(message);
    if (event === null) return;
    this.#waiting.set(event.hash, event);
    await this.#place();
  }

  /** The event, or null where it is known, cannot be opened yet, or is refused. */
  async #judge({
    subject,
    headers: head,
    data,
  }: Pick<Msg, 'subject' | 'headers' | 'data'>): Promise<LogEvent | null> {
    const { recordId } = this.options.record;
    const from = laneOfSubject(subject);
    const seq = Number(head?.get('s'));
    if (!from || !Number.isInteger(seq)) return null;
    const { lane, by } = from;
    const name = keyOfPlace(lane, seq);
    if (Number(head?.get('v')) !== WIRE_VERSION) {
      const sentence =
        'Another device writes with a newer version of the app. Its entries are safe on the server; reload this app to see them.';
      this.#tell('version', sentence);
      return null;
    }
    const refused = this.#strangeness(lane, by, seq);
    if (refused !== null) {
      // Refused aloud when it is still strange after the next comparison.
      const times = (this.#strange.get(name) ?? 0) + 1;
      this.#strange.set(name, times);
      if (times > 1) this.#tell(`foreign ${lane}`, refused);
      return null;
    }
    const key = this.#keys.get(Number(head?.get('e')));
    if (!key) {
      this.#tell(
        'no-key',
        'Entries came under a key that this device was not given. They are not shown here.',
      );
      return null;
    }
    const event = await openEvent(key, data, recordId, lane, seq);
    if (
      event === null ||
      laneOf(event) !== lane ||
      laneSeqOf(event) !== seq ||
      hashOf(event) !== event.hash
    ) {
      const sentence =
        'An entry came that is not what its device wrote, or not at its place. It was not taken in.';
      this.#tell(`altered ${name}`, sentence);
      return null;
    }
    const known = this.#known(lane, seq);
    if (known !== undefined) {
      if (known !== event.hash) this.#twice(lane, name);
      return null;
    }
    const publicKey = this.#signerOf(lane);
    if (
      publicKey !== null &&
      !(event.signature && (await checkSignature(publicKey, event.signature, event.hash)))
    ) {
      this.#tell(`forged ${name}`, 'An entry came that its device did not sign. It was not taken in.');
      return null;
    }
    return event;
  }

  /** Why a lane may not add to this record; null where it may. */
  #strangeness(lane: string, by: string, seq: number): string | null {
    const { members, gone, hostLane } = this.#state;
    const { record } = this.options;
    const left = gone.find((one) => one.lane === lane);
    if (left)
      return seq <= left.lastSeq
        ? null
        : 'A device that was sent away still wrote. What it wrote since was not taken in.';
    if (lane === record.lane || lane === hostLane) return null;
    const member = members.find((one) => one.lane === lane);
    if (member)
      return member.writes ? null : 'A screen that may only read tried to write. Nothing of it was taken in.';
    // Lanes from before sharing: of an older version, or of a device that recorded before.
    if (by === hostLane && by !== lane) return null;
    return 'A device that nobody let in wrote to this record. Nothing of it was taken in.';
  }

  #signerOf(lane: string): string | null {
    const { members, hostLane, hostKey } = this.#state;
    if (lane === hostLane) return hostKey;
    const member = members.find((one) => one.lane === lane);
    if (member) return member.publicKey;
    const first = this.options.record.events().find((event) => laneOf(event) === lane);
    return first?.device?.publicKey ?? null;
  }

  #known(lane: string, seq: number): string | undefined {
    const same = (event: LogEvent) => laneOf(event) === lane && laneSeqOf(event) === seq;
    return (this.options.record.events().find(same) ?? [...this.#waiting.values()].find(same))?.hash;
  }

  #twice(lane: string, name: string): void {
    const own = lane === this.options.record.lane;
    this.#tell(
      `twice ${name}`,
      own
        ? 'The server holds another entry where this device has one: this browser was put back from a copy. Both are kept; join the record again, so that this device writes in a new place.'
        : 'One device wrote two different entries at one place, as after a browser was put back from a copy. The one that came first is shown; the other is on the server.',
    );
  }

  /** Takes in whatever now follows from what is here. */
  async #place(): Promise<void> {
    const { record } = this.options;
    for (;;) {
      const known = new Set(record.events().map(({ hash }) => hash));
      const ready: LogEvent[] = [];
      let found = true;
      while (found) {
        found = false;
        for (const [hash, event] of this.#waiting) {
          const parents = [event.previousHash, ...(event.after ?? [])].filter((one) => one !== NO_EVENT_HASH);
          if (known.has(hash)) this.#waiting.delete(hash);
          else if (parents.every((one) => known.has(one))) {
            ready.push(event);
            known.add(hash);
            this.#waiting.delete(hash);
            found = true;
          }
        }
      }
      if (ready.length === 0) return;
      try {
        await record.takeIn(ready);
      } catch (error) {
        for (const event of ready) this.#waiting.set(event.hash, event);
        throw error;
      }
    }
  }

  // Compare --------------------------------------------------------------------------------------------------

  #syncing: Promise<void> | null = null;
  #again = false;

  sync(): Promise<void> {
    if (this.#syncing) {
      this.#again = true;
      return this.#syncing;
    }
    this.#syncing = (async () => {
      do {
        this.#again = false;
        await this.#compare();
      } while (this.#again && !this.#closed);
    })().finally(() => (this.#syncing = null));
    return this.#syncing;
  }

  async #compare(): Promise<void> {
    const nc = this.#nc;
    if (!nc || this.#closed || nc.isClosed() || this.#link === 'refused') return;
    const { record } = this.options;
    const filter = subjects.record(record.recordId);
    const whole = performance.now() - this.#wholeAt > WHOLE_MS || this.#wholeAt === 0;
    if (whole) {
      this.#seenEpochs.clear();
      await readAll(nc, this.conn, STREAMS.keys, subjects.keys(record.recordId), async (message) => {
        await this.#keyCame(message as unknown as Msg);
      });
      if (this.#closed) return;
      await this.#tellListsAgain();
    }
    const there = whole ? new Set<string>() : this.#there;
    let newest = whole ? 0 : this.#newestThere;
    let wantedFrom = Infinity;
    const here = new Set(record.events().map((event) => keyOfPlace(laneOf(event), laneSeqOf(event))));
    await readAll(
      nc,
      this.conn,
      STREAMS.records,
      filter,
      ({ subject, headers: head, seq }) => {
        const from = laneOfSubject(subject);
        if (!from) return;
        const name = keyOfPlace(from.lane, head?.get('s') ?? '');
        there.add(name);
        newest = Math.max(newest, seq);
        if (!here.has(name)) wantedFrom = Math.min(wantedFrom, seq);
      },
      { headersOnly: true, ...(whole ? {} : { from: newest + 1 }) },
    );
    if (whole) {
      this.#there = there;
      this.#wholeAt = performance.now();
    }
    this.#newestThere = newest;
    this.#setLink('online');
    if (wantedFrom !== Infinity) {
      const came: Promise<void>[] = [];
      await readAll(
        nc,
        this.conn,
        STREAMS.records,
        filter,
        (message) => {
          this.#queue = this.#queue.then(async () => {
            const event = await this.#judge(message as unknown as Msg).catch(() => null);
            if (event) this.#waiting.set(event.hash, event);
          });
          came.push(this.#queue);
        },
        { from: wantedFrom },
      );
      await Promise.all(came);
      this.#queue = this.#queue.then(() => this.#place());
      await this.#queue;
    }
    await this.#send();
    await this.#carry();
  }

  // Up -------------------------------------------------------------------------------------------------------

  #sending = false;
  #sendAgain = false;

  async #send(): Promise<void> {
    this.options.changed();
    if (this.#sending) return void (this.#sendAgain = true);
    this.#sending = true;
    try {
      do {
        this.#sendAgain = false;
        // Before the first comparison nobody knows what the server holds.
        if (this.#wholeAt === 0 || this.#link !== 'online' || this.options.state.part === 'wall') return;
        const left = this.#own().filter((event) => !this.#isThere(event));
        for (let at = 0; at < left.length; at += AT_ONCE) await this.#publish(left.slice(at, at + AT_ONCE));
      } while (this.#sendAgain);
    } finally {
      this.#sending = false;
    }
  }

  async #publish(events: readonly LogEvent[], carried = false): Promise<void> {
    const { record } = this.options;
    const { recordId } = record;
    const { epoch } = this.#state;
    const key = this.#keys.get(epoch);
    if (!key || !this.#js) return;
    try {
      await Promise.all(
        events.map(async (event) => {
          const lane = laneOf(event);
          const head = headers();
          head.set('v', String(WIRE_VERSION));
          head.set('s', String(laneSeqOf(event)));
          head.set('e', String(epoch));
          const subject = carried
            ? subjects.carried(recordId, record.lane, lane)
            : subjects.lane(recordId, lane);
          await this.#js!.publish(subject, await sealEvent(key, recordId, event), {
            headers: head,
            msgID: `${eventName(event)}:${event.hash.slice(0, 24)}${carried ? ':carried' : ''}`,
          });
          this.#there.add(keyOfPlace(lane, laneSeqOf(event)));
        }),
      );
      this.#untell('send');
    } catch (error) {
      this.#tell('send', this.#whyNotSent(error));
    }
    this.options.changed();
  }

  #whyNotSent(error: unknown): string {
    const words = String(error);
    if (/maximum (bytes|messages)|insufficient (resources|storage)|resource limits|no space/i.test(words))
      return 'The department’s server is full. Everything is on this device and is sent as soon as there is room; tell whoever looks after the server.';
    if (/permission/i.test(words))
      return 'The server does not let this device write to this record. Everything is on this device and can be exported.';
    return 'The department’s server did not acknowledge the last entries. They are on this device and are sent again.';
  }

  /** Hands on what a device that is gone had not sent, or a server without its disk has lost. */
  async #carry(): Promise<void> {
    const { record } = this.options;
    if (this.options.state.part === 'wall') return;
    const host = record.lane === this.#state.hostLane;
    const nowMs = performance.now();
    const missing = record.events().filter((event) => laneOf(event) !== record.lane && !this.#isThere(event));
    const places = new Set(missing.map(eventName));
    for (const name of this.#missingSince.keys()) if (!places.has(name)) this.#missingSince.delete(name);
    for (const event of missing) {
      const name = eventName(event);
      if (!this.#missingSince.has(name)) this.#missingSince.set(name, nowMs);
    }
    const members = new Set(this.#state.members.map(({ lane }) => lane));
    const due = missing.filter((event) => {
      const outside = !members.has(laneOf(event)) && laneOf(event) !== this.#state.hostLane;
      return (host && outside) || nowMs - this.#missingSince.get(eventName(event))! >= CARRY_AFTER_MS;
    });
    for (let at = 0; at < due.length; at += AT_ONCE) await this.#publish(due.slice(at, at + AT_ONCE), true);
  }

  // Clock ----------------------------------------------------------------------------------------------------

  #tellClock(message: Msg): void {
    const recordMs = this.options.record.clockMs();
    if (recordMs !== null) message.respond(JSON.stringify({ recordMs }));
  }

  async close(): Promise<void> {
    this.#closed = true;
    clearInterval(this.#timer);
    this.#unlisten();
    await this.#nc?.close().catch(() => {});
    if (this.#link !== 'refused') this.#setLink('offline');
  }
}
