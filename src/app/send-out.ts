import type { DeliveryState, OutboxItem, SendOutChoice, Trouble } from '../store/outbox.ts';

const FIRST_WAIT_MS = 30_000;
const LONGEST_WAIT_MS = 3_600_000;
const ANSWER_LIMIT_MS = 30_000;
const FHIR_JSON = 'application/fhir+json';

/** The base address as it is used, or null for one that must not be: https, or http on this machine only. */
export function sendAddress(typed: string): string | null {
  if (!URL.canParse(typed)) return null;
  const url = new URL(typed);
  const local = ['localhost', '127.0.0.1', '[::1]'].includes(url.hostname);
  if (url.protocol !== 'https:' && !(url.protocol === 'http:' && local)) return null;
  if (url.username || url.password || url.search || url.hash) return null;
  return url.href.replace(/\/+$/, '');
}

/** How long to wait after this many tries: doubled each time, at most an hour. */
export const waitMs = (tries: number): number =>
  Math.min(FIRST_WAIT_MS * 2 ** Math.max(0, tries - 1), LONGEST_WAIT_MS);

/** The words of an OperationOutcome (FHIR R4), or the status. */
async function reasonIn(answer: Response): Promise<string> {
  try {
    const { issue } = (await answer.json()) as {
      issue?: { diagnostics?: string; details?: { text?: string } }[];
    };
    const words = issue
      ?.map(({ diagnostics, details }) => diagnostics ?? details?.text ?? '')
      .filter(Boolean);
    if (words?.length) return `${answer.status}: ${words.join('; ').slice(0, 300)}`;
  } catch {
    // No FHIR answer: the status says what there is to say.
  }
  return `${answer.status} ${answer.statusText}`.trim();
}

function retryAfterMs(answer: Response, nowMs: number): number {
  const value = answer.headers.get('retry-after');
  if (!value) return 0;
  const seconds = Number(value);
  return Number.isFinite(seconds) ? seconds * 1000 : Math.max(0, Date.parse(value) - nowMs);
}

/** Why a person is needed, by the answer's status; null where trying again later may help. */
function troubleOf(status: number): { trouble: Trouble; later: boolean } {
  if (status === 401 || status === 403) return { trouble: 'sign-in', later: false };
  if (status === 404 || status === 405 || status === 410) return { trouble: 'wrong-place', later: false };
  if (status === 412) return { trouble: 'several', later: false };
  if (status === 409) return { trouble: 'conflict', later: true };
  if ([408, 425, 429].includes(status) || status >= 500) return { trouble: 'server', later: true };
  return { trouble: 'not-taken', later: false };
}

interface FoundBundle {
  resourceType?: string;
  id?: string;
  identifier?: { system?: string; value?: string };
}

/** The id of a Bundle with this identifier, or null: an empty body, a page of HTML, another resource. */
function idOfDocument(resource: FoundBundle | null | undefined, identifier: string): string | null {
  if (resource?.resourceType !== 'Bundle' || !resource.id) return null;
  return resource.identifier?.value === identifier ? resource.id : null;
}

async function jsonIn<T>(answer: Response): Promise<T | null> {
  try {
    return (await answer.json()) as T;
  } catch {
    return null;
  }
}

/**
 * One try to deliver a document. It is created only if the server has none with its identifier (conditional
 * create, FHIR R4 http.html#ccreate); where an earlier try may have arrived, that is looked up first, for servers
 * that ignore the condition. Delivered is what the server gives back as a Bundle with an id, or what a search for the
 * identifier finds there; no status alone. Never throws: what came of it is the new state.
 */
export async function deliver(
  item: OutboxItem,
  choice: SendOutChoice,
  nowMs: number,
  send: typeof fetch = fetch,
): Promise<DeliveryState> {
  if (item.state.kind === 'accepted') return item.state;
  const before = item.state.kind === 'waiting' ? item.state : { tries: 0, sentBefore: true };
  const { system, value } = item.identifier;
  const query = `identifier=${encodeURIComponent(`${system}|${value}`)}`;
  const at = new Date(nowMs).toISOString();
  const tries = before.tries + 1;
  const headers: Record<string, string> = { Accept: FHIR_JSON };
  if (choice.token) headers['Authorization'] = `Bearer ${choice.token}`;
  const request = (path: string, options: RequestInit) =>
    send(`${item.address}/${path}`, {
      ...options,
      credentials: 'omit',
      redirect: 'error',
      referrerPolicy: 'no-referrer',
      cache: 'no-store',
      signal: AbortSignal.timeout(ANSWER_LIMIT_MS),
    });
  let sentBefore = before.sentBefore;
  const again = (why: Trouble, trouble: string, atLeastMs = 0): DeliveryState => ({
    kind: 'waiting',
    tries,
    nextAtMs: nowMs + Math.max(waitMs(tries), atLeastMs),
    sentBefore,
    why,
    trouble,
  });
  const accepted = (id: string, wasThere: boolean): DeliveryState => ({
    kind: 'accepted',
    at,
    location: `${item.address}/Bundle/${id}`,
    wasThere,
  });
  const failed = async (answer: Response): Promise<DeliveryState> => {
    const { trouble, later } = troubleOf(answer.status);
    const reason = await reasonIn(answer);
    return later
      ? again(trouble, reason, retryAfterMs(answer, nowMs))
      : { kind: 'refused', at, why: trouble, reason };
  };
  /** `null`: the server answered, and has none. */
  const lookUp = async (): Promise<{ id: string | null } | { failed: DeliveryState }> => {
    const found = await request(`Bundle?${query}`, { headers });
    if (!found.ok) return { failed: await failed(found) };
    const bundle = await jsonIn<{ resourceType?: string; entry?: { resource?: FoundBundle }[] }>(found);
    if (bundle?.resourceType !== 'Bundle') {
      return { failed: again('unconfirmed', `${found.status}, but no list of documents`) };
    }
    const ids = (bundle.entry ?? []).map(({ resource }) => idOfDocument(resource, value));
    return { id: ids.find((id) => id !== null) ?? null };
  };
  try {
    if (sentBefore) {
      const there = await lookUp();
      if ('failed' in there) return there.failed;
      if (there.id) return accepted(there.id, true);
    }
    sentBefore = true;
    const answer = await request('Bundle', {
      method: 'POST',
      headers: {
        ...headers,
        'Content-Type': FHIR_JSON,
        'If-None-Exist': query,
      },
      body: item.bundle,
    });
    if (answer.ok) {
      const id = idOfDocument(await jsonIn<FoundBundle>(answer), value);
      if (id) return accepted(id, answer.status === 200);
    } else if (![409, 412].includes(answer.status)) return await failed(answer);
    // An empty answer, a page, "accepted" for later, or a clash: only a search says whether it is there.
    const there = await lookUp();
    if ('failed' in there) return there.failed;
    if (there.id) return accepted(there.id, !answer.ok);
    if (!answer.ok) return await failed(answer);
    return again('unconfirmed', `${answer.status} ${answer.statusText}`.trim());
  } catch (error) {
    return again('no-answer', error instanceof Error ? error.message : String(error));
  }
}
