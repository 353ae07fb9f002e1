import type { DeliveryState, OutboxItem, SendOutChoice } from '../store/outbox.ts';

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

const TRY_AGAIN = [408, 425, 429, 500, 502, 503, 504];

/**
 * One try to deliver a document. It is created only if the server has none with its identifier (conditional
 * create, FHIR R4 http.html#ccreate); where an earlier try may have arrived, that is looked up first, for servers
 * that ignore the condition. Never throws: what came of it is the new state.
 */
export async function deliver(
  item: OutboxItem,
  choice: SendOutChoice,
  nowMs: number,
  send: typeof fetch = fetch,
): Promise<DeliveryState> {
  if (item.state.kind !== 'waiting') return item.state;
  const { system, value } = item.identifier;
  const query = `identifier=${encodeURIComponent(`${system}|${value}`)}`;
  const at = new Date(nowMs).toISOString();
  const tries = item.state.tries + 1;
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
  const again = (trouble: string, sentBefore: boolean, atLeastMs = 0): DeliveryState => ({
    kind: 'waiting',
    tries,
    nextAtMs: nowMs + Math.max(waitMs(tries), atLeastMs),
    sentBefore,
    trouble,
  });
  let sentBefore = item.state.sentBefore;
  try {
    if (sentBefore) {
      const found = await request(`Bundle?${query}`, { headers });
      if (!found.ok) return again(await reasonIn(found), sentBefore, retryAfterMs(found, nowMs));
      const bundle = (await found.json()) as { entry?: { fullUrl?: string; resource?: { id?: string } }[] };
      const [there] = bundle.entry ?? [];
      if (there) {
        const location = there.fullUrl ?? `${item.address}/Bundle/${there.resource?.id ?? ''}`;
        return { kind: 'accepted', at, location, wasThere: true };
      }
    }
    sentBefore = true;
    const answer = await request('Bundle', {
      method: 'POST',
      headers: { ...headers, 'Content-Type': FHIR_JSON, 'If-None-Exist': query },
      body: item.bundle,
    });
    if (answer.status === 200 || answer.status === 201) {
      const location = answer.headers.get('location') ?? '';
      return { kind: 'accepted', at, location, wasThere: answer.status === 200 };
    }
    if (TRY_AGAIN.includes(answer.status)) {
      return again(await reasonIn(answer), sentBefore, retryAfterMs(answer, nowMs));
    }
    return { kind: 'refused', at, reason: await reasonIn(answer) };
  } catch (error) {
    return again(error instanceof Error ? error.message : String(error), sentBefore);
  }
}
