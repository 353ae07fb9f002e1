import { createServer, type Server as HttpServer } from 'node:http';
import { createHash, randomBytes } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { jetstream } from '@nats-io/jetstream';
import { ask, connectAs, hello, newConn } from '../../src/shared/connection.ts';
import { readDepartmentKey, type DepartmentKeys } from '../../src/shared/department-key.ts';
import { admitDesk, openForDesk, readList } from '../../src/shared/desk.ts';
import { subjects, WIRE_VERSION, type Role } from '../../src/shared/subjects.ts';
import { SUMMARY_PURPOSE } from '../../src/shared/summaries.ts';
import { senderKey, utf8, wrapFor } from '../../src/shared/wrapping.ts';
import { openAccess } from '../../src/server/shared/access.ts';
import { signWith } from '../../src/store/signature.ts';
import { binary, Department } from './department.ts';
import { Device, together, until } from './devices.ts';

const idOf = (pass: string) =>
  (JSON.parse(Buffer.from(pass.split('.')[0]!, 'base64url').toString()) as { id: string }).id;

describe.skipIf(!binary)('the department', { timeout: 120_000 }, () => {
  let department: Department;
  let keys: DepartmentKeys;
  beforeAll(async () => {
    department = await Department.open();
    // As after a restore: from the file alone.
    keys = await readDepartmentKey(JSON.stringify(department.key));
  }, 120_000);
  afterAll(() => department?.close());

  async function desk(...roles: Role[]) {
    const pass = department.pass('Desk', ...roles);
    const conn = newConn();
    const nc = await connectAs(department.server(), {
      version: WIRE_VERSION,
      conn,
      as: 'department',
      grant: pass,
    });
    return {
      nc,
      conn,
      pass,
      ask: <T>(what: string, more: object = {}) =>
        ask<T>(nc, subjects.departmentAsk(idOf(pass), what), { grant: pass, ...more }),
    };
  }
  const department_ = () => ({ card: department.card, wrapPrivate: keys.wrapPrivate });

  /** What a desk does to open a record and sign it off. */
  async function openAt(signer: Device, recordId: string, pass: string) {
    signer.file = { ...signer.file, recordId, events: [] };
    const nc = await signer.alone(department, pass);
    const { conn } = JSON.parse((nc as never as { options: { token: string } }).options.token) as {
      conn: string;
    };
    const opened = await openForDesk(nc, conn, recordId, department_());
    const state = await admitDesk(nc, recordId, opened, signer.member, signWith(keys.signPrivate));
    await nc.close();
    await signer.follow(department, state, pass);
  }

  test('a record is signed off at another desk, with the department’s key and the host gone', async () => {
    const a = await (await Device.make('a')).begin();
    await a.share(department);
    await a.call(200);
    await until('all is sent', () => a.follower.status().unsent === 0);
    const { recordId } = a.file;
    await a.follower.close();
    const signer = await Device.make('desk');
    signer.file = { ...a.file, events: [] };
    const startMs = performance.now();
    await openAt(signer, recordId, department.pass('B. Sample', 'signs'));
    await until('the desk has it', () => signer.file.events.length === 201);
    const ms = performance.now() - startMs;
    console.log(`a record of 201 events opened at a desk in ${ms.toFixed(0)} ms`);
    // The goal is 300 ms; what else runs on the machine is allowed for.
    expect(ms).toBeLessThan(1_000);
    await signer.write({ kind: 'sign', name: 'B. Sample', role: 'midwife', statement: 'as read' });
    await until('signed on the server', () => signer.follower.status().unsent === 0);
    // The host comes back and follows the signature of a device that the department let in.
    await a.follow(department, a.kept ?? a.follower.state(), department.pass('a', 'records'));
    await together([a, signer], 202);
    expect(a.view.signatures).toHaveLength(1);
    await Promise.all([a.follower.close(), signer.follower.close()]);
  });

  test('another department’s key opens nothing, and is told so', async () => {
    const a = await (await Device.make('a')).begin();
    await a.share(department);
    const other = await Department.open();
    const wrong = await readDepartmentKey(JSON.stringify(other.key));
    const signer = await Device.make('desk');
    signer.file = a.file;
    const nc = await signer.alone(department, department.pass('B', 'signs'));
    const { conn } = JSON.parse((nc as never as { options: { token: string } }).options.token) as {
      conn: string;
    };
    const opening = openForDesk(nc, conn, a.file.recordId, {
      card: department.card,
      wrapPrivate: wrong.wrapPrivate,
    });
    await expect(opening).rejects.toThrow(/another department’s key/);
    await nc.close();
    await other.close();
    await a.follower.close();
  });

  test('the list of 5,000 records opens; what was put under another name is not in it', async () => {
    const COUNT = 5_000;
    const a = await (await Device.make('a')).begin();
    await a.share(department);
    // Two hundred sittings of the app: each has a key of its own that it wraps with.
    const senders = await Promise.all(Array.from({ length: 200 }, senderKey));
    const nc = await department.insider();
    const js = jetstream(nc);
    for (let n = 0; n < COUNT; n += 250) {
      await Promise.all(
        Array.from({ length: 250 }, async (_, i) => {
          const recordId = `r${n + i}`;
          const summary = {
            recordId,
            createdAt: new Date(n + i).toISOString(),
            changedAt: 'x',
            mode: 'practice',
            reference: `Invented ${n + i}`,
            entryCount: 40,
            finished: true,
            signed: false,
          };
          const wrapped = await wrapFor(
            department.card.wrapKey,
            utf8(JSON.stringify(summary)),
            SUMMARY_PURPOSE,
            senders[(n + i) % 200],
          );
          await js.publish(subjects.summary(n + i === 7 ? 'moved' : recordId), JSON.stringify({ wrapped }));
        }),
      );
    }
    await nc.close();
    const { nc: reader, conn } = await desk('reads');
    const startMs = performance.now();
    const list = await readList(reader, conn, keys.wrapPrivate);
    const ms = performance.now() - startMs;
    console.log(`the list of ${COUNT} records opened in ${ms.toFixed(0)} ms`);
    expect(list.records.length).toBeGreaterThanOrEqual(COUNT - 1);
    expect(list.notOpened).toBe(1);
    // The goal is 1 s; what else runs on the machine is allowed for.
    expect(ms).toBeLessThan(3_000);
    await reader.close();
    await a.follower.close();
  });

  test('who read what is logged; erasing destroys the wrapped keys and the events; roles are held', async () => {
    const a = await (await Device.make('a')).begin();
    await a.share(department);
    await a.call(3);
    await until('sent', () => a.follower.status().unsent === 0);
    const { recordId } = a.file;
    const reader = await Device.make('reader');
    reader.file = a.file;
    const readerPass = department.pass('C. Reader', 'reads');
    const reading = await reader.alone(department, readerPass);
    await expect(
      jetstream(reading, { timeout: 1500 }).publish(subjects.lane(recordId, reader.lane), 'x'),
    ).rejects.toThrow(/permission/i);
    await reading.close();
    await a.follower.close();
    const admin = await desk('administers');
    const { reads } = await admin.ask<{ reads: { who: string }[] }>('reads', { recordId });
    expect(reads.map(({ who }) => who)).toEqual(expect.arrayContaining(['a', 'C. Reader']));
    const plain = await desk('reads');
    await expect(plain.ask('erase', { recordId })).rejects.toThrow(/Only who administers/);
    await expect(plain.ask('reads', { recordId })).rejects.toThrow(/Only who administers/);
    await expect(plain.ask('new-pass', { name: 'x', roles: ['administers'] })).rejects.toThrow(
      /Only who administers/,
    );
    const { erased } = await admin.ask<{ erased: number }>('erase', { recordId });
    expect(erased).toBeGreaterThanOrEqual(5);
    const nc = await reader.alone(department, department.pass('D', 'signs'));
    const { conn } = JSON.parse((nc as never as { options: { token: string } }).options.token) as {
      conn: string;
    };
    await expect(openForDesk(nc, conn, recordId, department_())).rejects.toThrow(/erased, or never shared/);
    await Promise.all([nc, admin.nc, plain.nc].map((one) => one.close()));
  });

  test('the department’s key, lost and put back from its file, opens what was shared before', async () => {
    const a = await (await Device.make('a')).begin();
    await a.share(department);
    const restored = await readDepartmentKey(JSON.stringify(department.key));
    const signer = await Device.make('desk');
    signer.file = a.file;
    const nc = await signer.alone(department, department.pass('E', 'signs'));
    const { conn } = JSON.parse((nc as never as { options: { token: string } }).options.token) as {
      conn: string;
    };
    const { state } = await openForDesk(nc, conn, a.file.recordId, {
      card: department.card,
      wrapPrivate: restored.wrapPrivate,
    });
    expect(state.keys).toEqual(a.follower.state().keys);
    await nc.close();
    await a.follower.close();
  });
});

describe.skipIf(!binary)('signing in with the hospital’s OpenID provider', { timeout: 60_000 }, () => {
  let department: Department;
  let http: HttpServer;
  let issuer: string;
  const groups: Record<string, string[]> = {
    midwife: ['labour-ward'],
    clerk: ['canteen'],
    lead: ['labour-ward', 'maternity-leads'],
  };
  const redirectUri = 'https://records.hospital.example/';

  beforeAll(async () => {
    http = createServer();
    await new Promise<void>((done) => http.listen(0, '127.0.0.1', done));
    issuer = `http://127.0.0.1:${(http.address() as { port: number }).port}`;
    const { Provider } = await import('oidc-provider');
    const provider = new Provider(issuer, {
      clients: [
        {
          client_id: 'utterlog',
          token_endpoint_auth_method: 'none',
          redirect_uris: [redirectUri],
          grant_types: ['authorization_code'],
          response_types: ['code'],
        },
      ],
      pkce: { required: () => true },
      claims: { openid: ['sub', 'groups', 'name'] },
      conformIdTokenClaims: false,
      features: { devInteractions: { enabled: true } },
      findAccount: (_: unknown, id: string) => ({
        accountId: id,
        claims: () => ({ sub: id, name: `The ${id}`, groups: groups[id] ?? [] }),
      }),
    });
    http.on('request', provider.callback());
    department = await Department.open();
    await department.access.stop();
    department.access = await openAccess({
      ...department.kept.access,
      signIn: {
        issuer,
        authorizationEndpoint: `${issuer}/auth`,
        tokenEndpoint: `${issuer}/token`,
        jwksUri: `${issuer}/jwks`,
        clientId: 'utterlog',
        scope: 'openid',
        rolesClaim: 'groups',
        roles: { 'labour-ward': ['records', 'reads'], 'maternity-leads': ['signs', 'administers'] },
      },
    });
  }, 60_000);
  afterAll(async () => {
    await department?.close();
    http?.close();
  });

  /** A browser at the provider's own pages: asks, signs in, consents, comes back with a code. */
  async function codeFor(login: string, verifier: string): Promise<string> {
    const challenge = createHash('sha256').update(verifier).digest('base64url');
    const query = new URLSearchParams({
      client_id: 'utterlog',
      response_type: 'code',
      scope: 'openid',
      redirect_uri: redirectUri,
      code_challenge: challenge,
      code_challenge_method: 'S256',
    });
    const cookies = new Map<string, string>();
    let url = `${issuer}/auth?${query}`;
    let form: URLSearchParams | null = null;
    for (let step = 0; step < 12; step++) {
      const response: Response = await fetch(url, {
        method: form ? 'POST' : 'GET',
        body: form,
        redirect: 'manual',
        headers: { cookie: [...cookies].map(([name, value]) => `${name}=${value}`).join('; ') },
      });
      for (const line of response.headers.getSetCookie()) {
        const [, name, value] = /^([^=]+)=([^;]*)/.exec(line)!;
        cookies.set(name!, value!);
      }
      const to = response.headers.get('location');
      if (to?.startsWith(redirectUri)) return new URL(to).searchParams.get('code')!;
      if (to) {
        [url, form] = [new URL(to, url).href, null];
        continue;
      }
      const page = await response.text();
      const prompt = /name="prompt" value="(\w+)"/.exec(page)?.[1];
      if (!prompt) throw new Error(page.slice(0, 300));
      form = new URLSearchParams(prompt === 'login' ? { prompt, login, password: 'any' } : { prompt });
      url = /action="([^"]+)"/.exec(page)?.[1] ?? url;
      url = new URL(url, issuer).href;
    }
    throw new Error('the provider led nowhere');
  }

  async function signIn(login: string, change: Partial<{ verifier: string }> = {}) {
    const verifier = randomBytes(32).toString('base64url');
    const code = await codeFor(login, verifier);
    const conn = newConn();
    const nc = await connectAs(department.server(), {
      version: WIRE_VERSION,
      conn,
      as: 'sign-in',
      code,
      verifier,
      redirectUri,
      ...change,
    });
    return { nc, said: await hello(nc, conn) };
  }

  test('a midwife gets the roles of her group; a clerk gets in nowhere; a stolen code is worth nothing', async () => {
    const midwife = await signIn('midwife');
    expect(midwife.said).toEqual({ name: 'The midwife' });
    const clerk = await signIn('clerk');
    expect(clerk.said).toEqual({ refused: expect.stringMatching(/none of your groups has a role/) });
    const thief = await signIn('lead', { verifier: 'another-verifier-of-enough-length-000000000000' });
    expect(thief.said).toEqual({ refused: expect.stringMatching(/did not confirm you/) });
    await Promise.all([midwife, clerk, thief].map(({ nc }) => nc.close()));
  });

  test('who has signed in takes a pass away, with the roles of the groups and no more', async () => {
    const { nc } = await signIn('lead');
    const id = createHash('sha256').update(`${issuer} lead`).digest('hex').slice(0, 16);
    const pass = await ask<{ grant: string; roles: string[] }>(nc, subjects.departmentAsk(id, 'pass'));
    expect(pass.roles).toEqual(['records', 'reads', 'signs', 'administers']);
    await expect(
      nc.request(subjects.departmentAsk('another', 'pass'), '{}', { timeout: 800 }),
    ).rejects.toThrow(/permission/i);
    const conn = newConn();
    const again = await connectAs(department.server(), {
      version: WIRE_VERSION,
      conn,
      as: 'department',
      grant: pass.grant,
    });
    expect(await hello(again, conn)).toEqual({ name: 'The lead' });
    await Promise.all([nc.close(), again.close()]);
  });
});
