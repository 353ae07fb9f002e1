import { createHash, randomBytes, webcrypto } from 'node:crypto';
import { decode, encodeAuthorizationResponse, encodeUser, type AuthorizationRequest } from '@nats-io/jwt';
import { connect } from '@nats-io/transport-node';
import { jetstream, jetstreamManager, type JetStreamClient, type JetStreamManager } from '@nats-io/jetstream';
import { nkeyAuthenticator, type Msg, type NatsConnection } from '@nats-io/nats-core';
import { fromPublic, fromSeed } from '@nats-io/nkeys';
import { invitationIdOf } from '../../shared/join.ts';
import { proofText, STREAMS, subjects, WIRE_VERSION, type Credentials } from '../../shared/subjects.ts';
import { isRoles, isToken, readGrant, writeGrant, type Grant } from './grants.ts';
import {
  departmentRights,
  guestRights,
  helloRights,
  recordRights,
  withHello,
  type Rights,
} from './rights.ts';
import { signedIn, type SignInSettings } from './sign-in.ts';

/** What the gate must know; written by set-up, readable by the service alone. */
export interface AccessSettings {
  /** Addresses of the log servers for clients that are no browsers. */
  servers: string[];
  /** Seeds (nkeys) of the issuer of rights, of the gate's own user and of its user on the system account. */
  issuerSeed: string;
  userSeed: string;
  systemSeed: string;
  /** Makes passes, 32 bytes, base64url. */
  grantKey: string;
  account: string;
  replicas: 1 | 3;
  /** What the streams of records may take together, bytes; beyond it the server is full and says so. */
  mostBytes?: number;
  signIn?: SignInSettings;
}

export interface Access {
  stop: () => Promise<void>;
}

const INVITATION_MS = 120_000;
/** How long a joined device may hand in what it wrote, after the record was finished. */
const HAND_IN_MS = 15 * 60_000;
const RIGHTS_S = 12 * 3600;
const REFUSED_S = 30;
const MOST_JOINED_MS = 24 * 3_600_000;

class Refused extends Error {}

const enough = (text: string) => new TextEncoder().encode(text);
const base64url = (text: string) => Buffer.from(text, 'base64url');

/**
 * The gate beside the log server: it says who may connect and with which rights (NATS auth callout), answers a
 * handful of questions, and logs who read what. It sees no content: everything that passes is encrypted.
 */
export async function openAccess(settings: AccessSettings): Promise<Access> {
  const base = { servers: settings.servers, maxReconnectAttempts: -1, reconnectTimeWait: 250 };
  const nc = await connect({
    ...base,
    waitOnFirstConnect: true,
    authenticator: nkeyAuthenticator(enough(settings.userSeed)),
  });
  const system = await connect({
    ...base,
    waitOnFirstConnect: true,
    authenticator: nkeyAuthenticator(enough(settings.systemSeed)),
  });
  const gate = new Gate(nc, system, await streamsOn(nc, settings), settings);
  gate.serve();
  return { stop: async () => void (await Promise.allSettled([nc.close(), system.close()])) };
}

/** Makes the streams that are missing; a server that lost its disk is made anew. */
async function streamsOn(nc: NatsConnection, settings: AccessSettings): Promise<JetStreamManager> {
  const jsm = await jetstreamManager(nc, { timeout: 10_000, checkAPI: false });
  const make = async () => {
    const common = { storage: 'file', num_replicas: settings.replicas, allow_direct: true } as const;
    const full = settings.mostBytes === undefined ? {} : { max_bytes: settings.mostBytes };
    const all = [
      { name: STREAMS.records, subjects: ['u.rec.>'], deny_delete: true, discard: 'new', ...full },
      { name: STREAMS.keys, subjects: ['u.key.>'], deny_delete: true },
      { name: STREAMS.summaries, subjects: ['u.sum.*'], max_msgs_per_subject: 1 },
      { name: STREAMS.invitations, subjects: ['u.inv.*'], max_age: INVITATION_MS * 1e6 },
      { name: STREAMS.access, subjects: ['u.acc.>'], max_msgs_per_subject: 1 },
      { name: STREAMS.reads, subjects: ['u.reads.*'], deny_delete: true, deny_purge: true },
    ];
    for (const stream of all)
      await jsm.streams.add({ ...common, duplicate_window: 120e9, ...stream } as never);
  };
  for (let attempt = 1; ; attempt++) {
    try {
      await make();
      break;
    } catch (error) {
      // A cluster has no leader in its first seconds.
      if (attempt >= 60) throw error;
      await new Promise((done) => setTimeout(done, 500));
    }
  }
  void (async () => {
    for await (const status of nc.status()) if (status.type === 'reconnect') await make().catch(() => {});
  })();
  return jsm;
}

type Known = { serverId: string; clientId: number; recordId: string; lane: string; guest: boolean };

class Gate {
  readonly #js: JetStreamClient;
  readonly #grantKey: Buffer;
  readonly #connected = new Map<string, Known>();

  constructor(
    readonly nc: NatsConnection,
    readonly system: NatsConnection,
    readonly jsm: JetStreamManager,
    readonly settings: AccessSettings,
  ) {
    this.#js = jetstream(nc);
    this.#grantKey = base64url(settings.grantKey);
  }

  serve(): void {
    const queue = { queue: 'gate' };
    this.nc.subscribe('$SYS.REQ.USER.AUTH', {
      ...queue,
      callback: (_, message) => void this.#judge(message),
    });
    // Not shared out: the gate that judged a connection knows how.
    this.nc.subscribe('u.hello.*', {
      callback: (_, message) => {
        const told = this.#told.get(message.subject.split('.')[2]!);
        if (told) message.respond(JSON.stringify(told));
      },
    });
    this.nc.subscribe('u.ask.>', { ...queue, callback: (_, message) => void this.#answer(message) });
  }

  async #judge(message: Msg): Promise<void> {
    const { nats: request } = decode<AuthorizationRequest>(message.string()) as unknown as {
      nats: AuthorizationRequest;
    };
    const issuer = fromSeed(enough(this.settings.issuerSeed));
    const user = fromPublic(request.user_nkey);
    const server = fromPublic(request.server_id.id);
    const answer: { jwt?: string; error?: string } = {};
    const { auth_token: token } = request.connect_opts as { auth_token?: string };
    const conn = connOf(token);
    const letIn = async (name: string, rights: Rights, seconds: number) =>
      encodeUser(
        name,
        user,
        issuer,
        {
          pub: { allow: rights.publish, deny: [] },
          sub: { allow: rights.subscribe, deny: [] },
          ...(rights.answers ? { resp: { max: 1, ttl: 5e9 } } : {}),
        },
        { aud: this.settings.account, exp: Math.floor(Date.now() / 1000) + seconds },
      );
    try {
      const { name, rights } = await this.#rightsOf(token, request);
      this.#told.set(conn!, { name });
      answer.jwt = await letIn(name, withHello(conn!, rights), RIGHTS_S);
    } catch (error) {
      // A server that is only just starting refuses nobody for good: the device comes again by itself.
      if (conn === null || !(error instanceof Refused)) answer.error = String(error);
      else {
        // The server hands on no reason: who is refused may come in to read why, and do nothing else.
        this.#told.set(conn, { refused: error.message });
        answer.jwt = await letIn('refused', helloRights(conn), REFUSED_S);
      }
    }
    if (conn !== null) setTimeout(() => this.#told.delete(conn), RIGHTS_S * 1000).unref();
    message.respond(await encodeAuthorizationResponse(user, server, issuer, answer, {}));
  }

  /** How each connection was let in, by its name. */
  readonly #told = new Map<string, { name: string } | { refused: string }>();

  async #rightsOf(
    token: string | undefined,
    request: AuthorizationRequest,
  ): Promise<{ name: string; rights: Rights }> {
    const claimed = readCredentials(token);
    const { conn } = claimed;
    if (claimed.as === 'invitation') {
      const id = invitationIdOf(String(claimed.code));
      await this.#useUp(id);
      return { name: `guest ${id}`, rights: guestRights(conn, id) };
    }
    if (claimed.as === 'sign-in') {
      const { signIn } = this.settings;
      if (!signIn) throw new Refused('This server knows no sign-in of the hospital.');
      const person = await signedIn(signIn, claimed).catch((error: Error) => {
        throw new Refused(error.message);
      });
      this.#passes.set(person.id, { kind: 'person', ...person, untilMs: Date.now() + RIGHTS_S * 1000 });
      return { name: person.name, rights: departmentRights(conn, person.id, false) };
    }
    const grant = this.#grant(claimed.grant);
    if (claimed.as === 'department') {
      if (grant.kind !== 'person') throw new Refused('A device of one record cannot open the department.');
      const reads = grant.roles.some((role) => role !== 'records');
      return { name: grant.name, rights: departmentRights(conn, grant.id, reads) };
    }
    return this.#inRecord(claimed, grant, request);
  }

  /** What a person who signed in may take away as a pass. */
  readonly #passes = new Map<string, Grant>();

  async #inRecord(
    claimed: Extract<Credentials, { as: 'record' }>,
    grant: Grant,
    request: AuthorizationRequest,
  ): Promise<{ name: string; rights: Rights }> {
    const { conn, recordId, lane } = claimed;
    if (!isToken(recordId) || !isToken(lane)) throw new Refused('The record’s name cannot be read.');
    if (!(await ownsLane(claimed)))
      throw new Refused('This device did not show that the lane is its own. Nothing was taken.');
    await this.#notDenied(recordId, lane);
    const guest = grant.kind === 'device';
    if (guest) {
      if (grant.recordId !== recordId || grant.lane !== lane)
        throw new Refused('This pass is for another record or another device.');
      const closed = await this.#said(subjects.closed(recordId));
      if (closed && closed.atMs + HAND_IN_MS < Date.now())
        throw new Refused(
          'The record was finished. What this device has not sent is kept here: export it and hand it to whoever signs.',
        );
    }
    const roles = grant.kind === 'person' ? grant.roles : [];
    const hosts = roles.includes('records') || roles.includes('signs');
    const writes = guest ? grant.writes : hosts;
    if (!guest && !hosts && !roles.includes('reads'))
      throw new Refused('This pass does not let its holder read records.');
    const who = grant.kind === 'person' ? grant.name : `device ${lane}`;
    await this.#js.publish(
      subjects.read(recordId),
      JSON.stringify({
        who,
        id: grant.kind === 'person' ? grant.id : lane,
        lane,
        at: new Date().toISOString(),
      }),
    );
    const { id: clientId = 0 } = request.client_info;
    this.#connected.set(`${recordId} ${lane}`, {
      serverId: request.server_id.id,
      clientId,
      recordId,
      lane,
      guest,
    });
    return { name: who, rights: recordRights({ conn, recordId, lane, writes, hosts }) };
  }

  #grant(text: unknown): Grant {
    const grant = readGrant(this.#grantKey, text, Date.now());
    if ('refused' in grant) throw new Refused(grant.refused);
    return grant;
  }

  /** One use: the second to come finds it used, on whichever server, because the write names what it follows. */
  async #useUp(id: string): Promise<void> {
    const found = await this.jsm.direct
      .getMessage(STREAMS.invitations, { last_by_subj: subjects.invitation(id) })
      .catch(() => null);
    const invited = found?.json<{ used?: boolean; untilMs: number }>();
    if (!found || !invited || invited.untilMs < Date.now())
      throw new Refused('This invitation has ended or never was. Ask for a new code at the record.');
    const used = new Refused('This invitation was used already. Ask for a new code at the record.');
    if (invited.used) throw used;
    await this.#js
      .publish(subjects.invitation(id), JSON.stringify({ ...invited, used: true }), {
        expect: { lastSubjectSequence: found.seq },
      })
      .catch(() => {
        throw used;
      });
  }

  async #said(subject: string): Promise<{ atMs: number } | null> {
    const found = await this.jsm.direct
      .getMessage(STREAMS.access, { last_by_subj: subject })
      .catch(() => null);
    return found && found.data.length > 0 ? found.json<{ atMs: number }>() : null;
  }

  async #notDenied(recordId: string, lane: string): Promise<void> {
    if (await this.#said(subjects.denied(recordId, lane)))
      throw new Refused('This device was sent away from the record. What it holds can still be exported.');
  }

  async #answer(message: Msg): Promise<void> {
    const [, , recordId, who, what] = message.subject.split('.');
    const reply = (value: object) => void message.respond(JSON.stringify(value));
    try {
      const asked = message.data.length > 0 ? message.json<Record<string, unknown>>() : {};
      if (recordId === 'department') reply(await this.#departmentAsks(who!, what!, asked));
      else reply(await this.#recordAsks(recordId!, who!, what!, asked));
    } catch (error) {
      if (!(error instanceof Refused)) console.error(error);
      reply({
        refused:
          error instanceof Refused
            ? error.message
            : 'The server could not do this now. Nothing was changed; try again.',
      });
    }
  }

  /** The subject says who asks: the server lets nobody publish on another's. */
  async #recordAsks(
    recordId: string,
    lane: string,
    what: string,
    asked: Record<string, unknown>,
  ): Promise<object> {
    switch (what) {
      case 'invite': {
        const id = String(asked.invitationId);
        if (!isToken(id)) throw new Refused('The invitation cannot be read.');
        const untilMs = Date.now() + INVITATION_MS;
        await this.#js.publish(subjects.invitation(id), JSON.stringify({ untilMs }), {
          expect: { lastSubjectSequence: 0 },
        });
        return { untilMs };
      }
      case 'admit': {
        const { lane: joiner, writes } = asked;
        if (!isToken(joiner)) throw new Refused('The device’s lane cannot be read.');
        const untilMs = Date.now() + MOST_JOINED_MS;
        const grant: Grant = { kind: 'device', recordId, lane: joiner, writes: writes === true, untilMs };
        return { grant: writeGrant(this.#grantKey, grant) };
      }
      case 'send-away': {
        if (!isToken(asked.lane)) throw new Refused('The device’s lane cannot be read.');
        await this.#deny(recordId, asked.lane);
        return { done: true };
      }
      case 'leave':
        await this.#deny(recordId, lane);
        return { done: true };
      case 'finished':
        await this.#js.publish(subjects.closed(recordId), JSON.stringify({ atMs: Date.now() }));
        setTimeout(() => void this.#endGuests(recordId), HAND_IN_MS + 1000).unref();
        return { done: true };
      case 'reopened':
        await this.#js.publish(subjects.closed(recordId), '');
        return { done: true };
      default:
        throw new Refused('The server does not know this question.');
    }
  }

  /** Rights of joined devices end with the record; who is connected still is let go. */
  async #endGuests(recordId: string): Promise<void> {
    if (!(await this.#said(subjects.closed(recordId)))) return;
    for (const known of this.#connected.values())
      if (known.recordId === recordId && known.guest) await this.#kick(known);
  }

  async #deny(recordId: string, lane: string): Promise<void> {
    await this.#js.publish(subjects.denied(recordId, lane), JSON.stringify({ atMs: Date.now() }));
    const known = this.#connected.get(`${recordId} ${lane}`);
    if (known) await this.#kick(known);
  }

  async #kick(known: Known): Promise<void> {
    await this.system
      .request(`$SYS.REQ.SERVER.${known.serverId}.KICK`, JSON.stringify({ cid: known.clientId }), {
        timeout: 2000,
      })
      .catch(() => {});
  }

  /** The pass of a person is behind its id: who has rights to this subject has shown it, or has just signed in. */
  async #departmentAsks(id: string, what: string, asked: Record<string, unknown>): Promise<object> {
    const grant = this.#passes.get(id) ?? this.#grant(asked.grant);
    if (grant.kind !== 'person' || grant.id !== id) throw new Refused('This pass is another person’s.');
    const administers = grant.roles.includes('administers');
    switch (what) {
      case 'pass':
        return { grant: writeGrant(this.#grantKey, grant), name: grant.name, roles: grant.roles };
      case 'new-pass': {
        if (!administers) throw new Refused('Only who administers the department makes passes.');
        if (typeof asked.name !== 'string' || !isRoles(asked.roles))
          throw new Refused('A pass needs a name and at least one role.');
        return { grant: newPass(this.settings, asked.name, asked.roles, Number(asked.days) || 30) };
      }
      case 'reads': {
        if (!administers) throw new Refused('Only who administers the department sees who read what.');
        if (!isToken(asked.recordId)) throw new Refused('The record’s name cannot be read.');
        return { reads: await this.#readsOf(asked.recordId) };
      }
      case 'erase': {
        if (!administers) throw new Refused('Only who administers the department erases records.');
        if (!isToken(asked.recordId)) throw new Refused('The record’s name cannot be read.');
        return { erased: await this.#erase(asked.recordId, grant.name) };
      }
      default:
        throw new Refused('The server does not know this question.');
    }
  }

  async #readsOf(recordId: string): Promise<unknown[]> {
    const reads: unknown[] = [];
    const name = `reads-${randomBytes(6).toString('hex')}`;
    const { num_pending: count } = await this.jsm.consumers.add(STREAMS.reads, {
      name,
      filter_subject: subjects.read(recordId),
      ack_policy: 'none',
      mem_storage: true,
      inactive_threshold: 10e9,
    });
    if (count > 0) {
      const consumer = await this.#js.consumers.get(STREAMS.reads, name);
      for await (const message of await consumer.fetch({ max_messages: count, expires: 5000 }))
        reads.push(message.json());
    }
    await this.jsm.consumers.delete(STREAMS.reads, name);
    return reads;
  }

  /** The wrapped keys first: without them nothing that is left anywhere of this record can be read. */
  async #erase(recordId: string, who: string): Promise<number> {
    let erased = 0;
    for (const [stream, filter] of [
      [STREAMS.keys, subjects.keys(recordId)],
      [STREAMS.records, subjects.record(recordId)],
      [STREAMS.summaries, subjects.summary(recordId)],
    ] as const)
      erased += (await this.jsm.streams.purge(stream, { filter })).purged;
    const read = { who, erased: true, at: new Date().toISOString() };
    await this.#js.publish(subjects.read(recordId), JSON.stringify(read));
    return erased;
  }
}

/** A pass for a person of the department. */
export function newPass(
  settings: Pick<AccessSettings, 'grantKey'>,
  name: string,
  roles: Extract<Grant, { kind: 'person' }>['roles'],
  days: number,
): string {
  const id = randomBytes(8).toString('hex');
  const untilMs = Date.now() + days * 86_400_000;
  return writeGrant(base64url(settings.grantKey), { kind: 'person', id, name, roles, untilMs });
}

function connOf(token: string | undefined): string | null {
  try {
    const { conn } = JSON.parse(token ?? 'null') as Partial<Credentials>;
    return isToken(conn) ? conn : null;
  } catch {
    return null;
  }
}

function readCredentials(token: string | undefined): Credentials {
  let claimed: Partial<Credentials> | null = null;
  try {
    claimed = JSON.parse(token ?? 'null') as Partial<Credentials> | null;
  } catch {
    claimed = null;
  }
  if (!claimed || !isToken(claimed.conn)) throw new Refused('This is no connection of the app.');
  if (claimed.version !== WIRE_VERSION)
    throw new Refused(
      'This app is older or newer than the department’s server. Reload it to get the version that fits; what is on this device stays.',
    );
  return claimed as Credentials;
}

async function ownsLane(claimed: Extract<Credentials, { as: 'record' }>): Promise<boolean> {
  const { conn, recordId, lane, publicKey, proof } = claimed;
  if (typeof publicKey !== 'string' || typeof proof !== 'string') return false;
  if (createHash('sha256').update(publicKey).digest('hex').slice(0, 16) !== lane) return false;
  try {
    const key = await webcrypto.subtle.importKey('raw', base64url(publicKey), 'Ed25519', false, ['verify']);
    const text = enough(proofText(conn, recordId, lane));
    return await webcrypto.subtle.verify('Ed25519', key, base64url(proof), text);
  } catch {
    return false;
  }
}
