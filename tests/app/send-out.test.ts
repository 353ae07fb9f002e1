import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { deliver, sendAddress, waitMs } from '../../src/app/send-out.ts';
import { makeExport } from '../../src/app/exports.ts';
import { sealEvents } from '../../src/core/log/chain.ts';
import type { EventBody, RecordFile } from '../../src/core/log/events.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { createOutbox, type OutboxItem, type SendOutChoice } from '../../src/store/outbox.ts';
import { memoryShelf } from '../../src/store/shelf.ts';
import { startFhirServer, type Mood } from './fhir-server.ts';

const TOKEN = 'token-of-the-test';
let fhir: Awaited<ReturnType<typeof startFhirServer>>;
let choice: SendOutChoice;

beforeAll(async () => {
  fhir = await startFhirServer(TOKEN);
  choice = { on: true, address: fhir.url, token: TOKEN };
}, 60_000);
afterAll(() => fhir.server.close());
beforeEach(() => fhir.mood([]));

const createdAt = '2026-01-01T00:00:00.000+00:00';

/** A finished record. */
function fileOf(recordId: string): RecordFile {
  const file = createRecordFile({ recordId, mode: 'real', wallMs: 0, createdAt, timeZone: 'Europe/London' });
  const bodies: EventBody[] = [
    { kind: 'entry', entryId: 'h', entry: { code: 'head-delivered' }, atMs: 1_000, timing: 'touch' },
    { kind: 'entry', entryId: 'b', entry: { code: 'body-delivered' }, atMs: 121_000, timing: 'touch' },
    { kind: 'finish', atMs: 300_000 },
  ];
  const made = { by: { kind: 'helper' }, madeAtMs: 300_000, madeAt: createdAt } as const;
  return { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, bodies, made)] };
}

/** A finished record's document, another one for each name. */
function documentOf(recordId: string): OutboxItem {
  const whole = fileOf(recordId);
  const outcome = makeExport(whole, 'fhir', { practiceAskedFor: false });
  if (outcome.kind !== 'file') throw new Error('no document');
  const { identifier } = JSON.parse(outcome.file.text) as Pick<OutboxItem, 'identifier'>;
  return {
    identifier,
    recordId,
    reference: '',
    address: fhir.url,
    queuedAt: createdAt,
    bundle: outcome.file.text,
    state: { kind: 'waiting', tries: 0, nextAtMs: 0, sentBefore: false },
  };
}

test('a document is accepted by the server, and its place there is told', async () => {
  const before = await fhir.stored();
  const state = await deliver(documentOf('a1'), choice, 0);
  expect(state).toMatchObject({ kind: 'accepted', wasThere: false });
  expect(state.kind === 'accepted' && state.location).toMatch(/\/Bundle\/.+/);
  expect((await fhir.stored()) - before).toBe(1);
});

test('sent again it is not there twice', async () => {
  const item = documentOf('a2');
  await deliver(item, choice, 0);
  const before = await fhir.stored();
  expect(await deliver(item, choice, 0)).toMatchObject({ kind: 'accepted', wasThere: true });
  expect(await fhir.stored()).toBe(before);
});

test('an answer that got lost: looked up first, never sent twice', async () => {
  const item = documentOf('a3');
  const before = await fhir.stored();
  fhir.mood(['takes-and-hangs-up']);
  const lost = await deliver(item, choice, 1_000);
  expect(lost).toMatchObject({ kind: 'waiting', tries: 1, sentBefore: true, nextAtMs: 31_000 });
  const asked = fhir.requests.length;
  expect(await deliver({ ...item, state: lost }, choice, 31_000)).toMatchObject({
    kind: 'accepted',
    wasThere: true,
  });
  expect(fhir.requests.slice(asked)).toEqual([expect.stringMatching(/^GET .*Bundle\?identifier=/)]);
  expect((await fhir.stored()) - before).toBe(1);
});

test('a server that is down is tried again, each time later, at most an hour apart', async () => {
  let item = documentOf('a4');
  fhir.mood(['fails-503', 'fails-503']);
  const waits: number[] = [];
  for (const nowMs of [0, 1_000_000]) {
    const state = await deliver(item, choice, nowMs);
    expect(state.kind).toBe('waiting');
    if (state.kind === 'waiting') waits.push(state.nextAtMs - nowMs);
    item = { ...item, state };
  }
  expect(waits).toEqual([30_000, 60_000]);
  expect(waitMs(50)).toBe(3_600_000);
  expect(await deliver(item, choice, 2_000_000)).toMatchObject({ kind: 'accepted' });
});

test('no server at all: it waits, nothing is lost', async () => {
  const item = { ...documentOf('a5'), address: 'http://127.0.0.1:9' };
  expect(await deliver(item, choice, 0)).toMatchObject({ kind: 'waiting', tries: 1 });
});

test('a refusal waits for a person and is told with the server’s words', async () => {
  expect(await deliver(documentOf('a6'), { ...choice, token: 'wrong' }, 0)).toMatchObject({
    kind: 'refused',
    why: 'sign-in',
    reason: expect.stringContaining('401') as string,
  });
  const broken = { ...documentOf('a7'), bundle: '{"resourceType":"Patient"}' };
  expect(await deliver(broken, choice, 0)).toMatchObject({
    kind: 'refused',
    reason: expect.stringMatching(/^400: .+/) as string,
  });
});

test('what was accepted is not sent again', async () => {
  const asked = fhir.requests.length;
  const accepted = { kind: 'accepted', at: '', location: '', wasThere: false } as const;
  await deliver({ ...documentOf('a8'), state: accepted }, choice, 0);
  expect(fhir.requests.length).toBe(asked);
});

test('the outbox outlives its window, and the same document goes in once', async () => {
  const shelf = memoryShelf();
  const item = documentOf('a9');
  await createOutbox(shelf).add(item);
  await createOutbox(shelf).add({ ...item, queuedAt: 'later' });
  expect(await createOutbox(shelf).items()).toEqual([item]);
  expect(await createOutbox(shelf).choice()).toEqual({ on: false, address: '', token: '' });
});

test('addresses: https, or this machine; nothing that hides a name, a password or a query', () => {
  expect(sendAddress('https://fhir.example/r4/')).toBe('https://fhir.example/r4');
  expect(sendAddress('http://127.0.0.1:8080/fhir')).toBe('http://127.0.0.1:8080/fhir');
  for (const bad of [
    '',
    'fhir.example',
    'http://fhir.example',
    'javascript:1',
    'https://a:b@c',
    'https://a/?q',
  ]) {
    expect(sendAddress(bad)).toBeNull();
  }
});

const took = { takes: true } as const;
const left = { takes: false } as const;
/** What the server does on the way; each must end with exactly one document there and `accepted` here. */
const WAYS: [string, Mood[]][] = [
  ['200 with an empty body, not taken', [{ ...left, status: 200 }]],
  ['200 with an empty body, taken', [{ ...took, status: 200 }]],
  ['200 with a page of HTML, not taken', [{ ...left, status: 200, body: '<html>Welcome</html>' }]],
  ['200 with a page of HTML, taken', [{ ...took, status: 200, body: '<html>Welcome</html>' }]],
  ['200 with another resource', [{ ...left, status: 200, body: '{"resourceType":"Patient","id":"1"}' }]],
  ['201 without a body, taken', [{ ...took, status: 201 }]],
  ['202, taken later', [{ ...left, status: 202 }]],
  ['204, not taken', [{ ...left, status: 204 }]],
  ['401, then a good token', ['refuses-token']],
  ['403', [{ ...left, status: 403 }]],
  ['409, not taken', [{ ...left, status: 409 }]],
  ['409, though taken', [{ ...took, status: 409 }]],
  ['412, though taken', [{ ...took, status: 412 }]],
  ['500 after taking it', [{ ...took, status: 500 }]],
  ['502 with a page, then 503', [{ ...left, status: 502, body: '<html>' }, 'fails-503']],
  ['the answer lost', ['takes-and-hangs-up']],
  ['the answer cut off in the middle', [{ ...took, status: 200, body: '{"resourceType":"Bun' }]],
  [
    'the search afterwards answers with a page',
    ['takes-and-hangs-up', { ...left, status: 200, body: '<html>Sign in</html>' }],
  ],
];

test.each(WAYS)('%s: in the end exactly one document is there', async (name, moods) => {
  const before = await fhir.stored();
  let item = documentOf(`way-${name.replace(/[^a-z0-9]/gi, '-')}`);
  fhir.mood([...moods]);
  const kinds: string[] = [];
  for (let tries = 0; tries < 6 && item.state.kind !== 'accepted'; tries++) {
    const there = (await fhir.stored()) - before;
    item = { ...item, state: await deliver(item, choice, tries * 10_000_000) };
    kinds.push(item.state.kind);
    // Never "delivered" before it is there, and a sentence for whatever is not.
    if (item.state.kind === 'accepted') expect((await fhir.stored()) - before).toBe(1);
    else expect(item.state).toHaveProperty('why');
    expect((await fhir.stored()) - before).toBeLessThanOrEqual(Math.max(1, there));
  }
  expect(kinds.at(-1), kinds.join()).toBe('accepted');
  expect((await fhir.stored()) - before).toBe(1);
  expect(item.state).toMatchObject({ location: expect.stringMatching(/Bundle\/.+/) as string });
});

test('no answer in time: tried again, one document', async () => {
  const before = await fhir.stored();
  const item = documentOf('slow');
  const impatient: typeof fetch = (input, init) => fetch(input, { ...init, signal: AbortSignal.timeout(60) });
  fhir.mood([{ ...took, status: 201, waitMs: 300 }]);
  const state = await deliver(item, choice, 0, impatient);
  expect(state).toMatchObject({ kind: 'waiting', why: 'no-answer' });
  expect(await deliver({ ...item, state }, choice, 1e9)).toMatchObject({ kind: 'accepted', wasThere: true });
  expect((await fhir.stored()) - before).toBe(1);
});

test('a search that gives another document is not taken for ours', async () => {
  const item = documentOf('other');
  const other = '{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Bundle","id":"9"}}]}';
  fhir.mood([
    { ...left, status: 202 },
    { ...left, status: 200, body: other, type: 'application/fhir+json' },
  ]);
  expect(await deliver(item, choice, 0)).toMatchObject({ kind: 'waiting', why: 'unconfirmed' });
});

test('an amended record’s document is a version of the same composition and replaces the earlier document', () => {
  const earlier = documentOf('amended');
  const [first, second] = [undefined, earlier.identifier].map((replaces) => {
    const outcome = makeExport(fileOf('amended'), 'fhir', { practiceAskedFor: false, replaces });
    if (outcome.kind !== 'file') throw new Error('no document');
    type Page = { identifier: { value: string }; relatesTo?: unknown };
    return (JSON.parse(outcome.file.text) as { entry: { resource: Page }[] }).entry[0]!.resource;
  });
  expect(second!.identifier).toEqual(first!.identifier);
  expect(first!.relatesTo).toBeUndefined();
  expect(second!.relatesTo).toEqual([{ code: 'replaces', targetIdentifier: earlier.identifier }]);
});
