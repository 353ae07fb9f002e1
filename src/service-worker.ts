/**
 * Keeps the app and the speech model on the device. A new version is fetched beside the one in use and takes
 * over only when a window asks for it; even a restart of the browser in the middle of a record stays on the
 * version that the record was begun with.
 */

/** `large` files (model, recordings, WebAssembly) are kept on first use or on demand, the rest at once. */
interface Release {
  version: string;
  files: { path: string; bytes: number; sha256: string; large: boolean }[];
}
type ReleasedFile = Release['files'][number];

/** Put in at build time (build/service-worker-plugin.ts). */
declare const BUILT_RELEASE: Release;
const RELEASE = BUILT_RELEASE;

const worker = self as unknown as ServiceWorkerGlobalScope;
const APP = 'utterlog-app-';
const LARGE = 'utterlog-large';
const STATE = 'utterlog-state';
const CURRENT = new URL('current-release', worker.registration.scope).href;
const PAGE = 'index.html';

const urlOf = (path: string) => new URL(path, worker.registration.scope).href;
/** The hash is part of the name: a kept file can never be taken for one of another release. */
const largeKey = (file: ReleasedFile) => `${urlOf(file.path)}?sha256=${file.sha256}`;

async function sha256(bytes: ArrayBuffer): Promise<string> {
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return [...hash].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** The release in use: the one last asked for, or this worker's own on a first visit. */
async function currentRelease(): Promise<Release> {
  const kept = await (await caches.open(STATE)).match(CURRENT);
  return kept ? ((await kept.json()) as Release) : RELEASE;
}

async function use(release: Release): Promise<void> {
  await (await caches.open(STATE)).put(CURRENT, new Response(JSON.stringify(release)));
}

/** Fetches a file and gives it back only if it is the released one; says in the error what was wrong. */
async function fetchReleased(file: ReleasedFile): Promise<Response> {
  const response = await fetch(urlOf(file.path), { cache: 'no-cache' });
  if (!response.ok) throw new Error(`${file.path}: answer ${response.status}`);
  const bytes = await response.arrayBuffer();
  if ((await sha256(bytes)) !== file.sha256) throw new Error(`${file.path}: not the released file`);
  return checkedResponse(bytes, response);
}

/** What is kept are the very bytes that were checked, not a second run of the stream they came by. */
function checkedResponse(bytes: ArrayBuffer, { headers }: Response): Response {
  return new Response(bytes, { headers });
}

async function install(): Promise<void> {
  const app = await caches.open(APP + RELEASE.version);
  const small = RELEASE.files.filter((file) => !file.large);
  await Promise.all(small.map(async (file) => app.put(urlOf(file.path), await fetchReleased(file))));
  if (!(await (await caches.open(STATE)).match(CURRENT))) await use(RELEASE);
  // Safe at any time: the version in use is what currentRelease() says, not which worker serves it.
  await worker.skipWaiting();
}

async function tidy(release: Release): Promise<void> {
  const wanted = new Set([APP + release.version, APP + RELEASE.version]);
  for (const name of await caches.keys()) {
    if (name.startsWith(APP) && !wanted.has(name)) await caches.delete(name);
  }
  const large = await caches.open(LARGE);
  const keys = new Set([...release.files, ...RELEASE.files].map(largeKey));
  for (const request of await large.keys()) {
    if (!keys.has(request.url)) await large.delete(request);
  }
}

async function keepLarge(file: ReleasedFile, response: Response): Promise<void> {
  const bytes = await response.arrayBuffer();
  // An altered file is passed on uncached; the app checks the model itself and says so.
  if ((await sha256(bytes)) !== file.sha256) return;
  await (await caches.open(LARGE)).put(largeKey(file), checkedResponse(bytes, response));
}

async function answerLarge(event: FetchEvent, file: ReleasedFile): Promise<Response> {
  const large = await caches.open(LARGE);
  // "reload" is how the app asks again for a file that it found cut or altered.
  const kept = event.request.cache === 'reload' ? undefined : await large.match(largeKey(file));
  if (kept) return kept;
  const response = await fetch(urlOf(file.path), { cache: 'no-cache' });
  if (response.status === 200) event.waitUntil(keepLarge(file, response.clone()));
  return response;
}

/** The page's headers may change while its text does not (the server was started with FHIR_ORIGIN). */
async function refreshPage(release: Release): Promise<void> {
  const file = release.files.find(({ path }) => path === PAGE);
  if (!file) return;
  const app = await caches.open(APP + release.version);
  await fetchReleased(file).then(
    (response) => app.put(urlOf(PAGE), response),
    () => {},
  );
}

async function answer(event: FetchEvent): Promise<Response> {
  const release = await currentRelease();
  const scope = worker.registration.scope;
  const path = event.request.url.slice(scope.length).split(/[?#]/)[0] || PAGE;
  const file = release.files.find((one) => one.path === path);
  if (file?.large) return answerLarge(event, file);
  if (path === PAGE) event.waitUntil(refreshPage(release));
  const app = await caches.open(APP + release.version);
  return (file && (await app.match(urlOf(path)))) || fetch(event.request);
}

async function tellAll(message: unknown): Promise<void> {
  for (const client of await worker.clients.matchAll({ includeUncontrolled: true }))
    client.postMessage(message);
}

async function state() {
  const release = await currentRelease();
  const large = release.files.filter((file) => file.large);
  const cache = await caches.open(LARGE);
  const here = await Promise.all(large.map((file) => cache.match(largeKey(file))));
  const sum = (files: ReleasedFile[]) => files.reduce((bytes, file) => bytes + file.bytes, 0);
  return {
    kind: 'offline-state',
    updateReady: release.version !== RELEASE.version,
    keptBytes: sum(large.filter((_, at) => here[at])),
    totalBytes: sum(large),
  };
}

async function keepAll(): Promise<void> {
  const large = await caches.open(LARGE);
  for (const file of (await currentRelease()).files.filter((one) => one.large)) {
    if (await large.match(largeKey(file))) continue;
    try {
      await large.put(largeKey(file), await fetchReleased(file));
    } catch (error) {
      await tellAll({ kind: 'not-kept', path: file.path, why: String(error) });
      return;
    }
    await tellAll(await state());
  }
}

/** Windows hold this lock (shared) while a record runs in them: app/running-lock.ts. */
const RUNNING_LOCK = 'utterlog running record';

async function applyUpdate(): Promise<void> {
  const { held = [] } = await worker.navigator.locks.query();
  if (held.some(({ name }) => name === RUNNING_LOCK)) {
    await tellAll({ kind: 'update-refused' });
    return;
  }
  const before = await currentRelease();
  await use(RELEASE);
  await tidy(before);
  await tellAll({ kind: 'update-applied' });
}

worker.addEventListener('install', (event) => event.waitUntil(install()));
worker.addEventListener('activate', (event) =>
  event.waitUntil(worker.clients.claim().then(async () => tellAll(await state()))),
);
worker.addEventListener('fetch', (event) => {
  const { request } = event;
  if (request.method === 'GET' && request.url.startsWith(worker.registration.scope)) {
    event.respondWith(answer(event));
  }
});
worker.addEventListener('message', (event) => {
  const work: Record<string, () => Promise<void>> = {
    state: async () => tellAll(await state()),
    'keep-all': keepAll,
    'apply-update': applyUpdate,
  };
  const kind = (event.data as { kind?: unknown } | null)?.kind;
  if (typeof kind === 'string' && Object.hasOwn(work, kind)) event.waitUntil(work[kind]!());
});

export {};
