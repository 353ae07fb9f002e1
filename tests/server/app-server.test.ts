import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { request, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readFhirOrigin, securityHeaders } from '../../src/server/headers.ts';
import { createAppServer } from '../../src/server/app-server.ts';

let folder: string;
let server: Server;
let port: number;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'utterlog-serve-'));
  const dist = join(folder, 'dist');
  mkdirSync(join(dist, 'assets'), { recursive: true });
  writeFileSync(join(folder, 'secret.txt'), 'secret');
  writeFileSync(join(dist, 'index.html'), '<!doctype html><title>t</title>');
  writeFileSync(join(dist, 'assets/app-AbCd1234.js'), 'export {}');
  writeFileSync(join(dist, 'runtime.wasm'), '\0asm');
  writeFileSync(join(dist, 'app.webmanifest'), '{}');
  writeFileSync(join(dist, '.hidden'), 'secret');
  symlinkSync(join(folder, 'secret.txt'), join(dist, 'link.txt'));
  server = await createAppServer(dist);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  port = (server.address() as AddressInfo).port;
});

afterAll(() => {
  server.close();
  rmSync(folder, { recursive: true });
});

/** fetch() tidies paths before it sends them; a raw request does not. */
function raw(path: string, method = 'GET', headers: Record<string, string> = {}) {
  return new Promise<{ status: number; headers: Record<string, unknown>; body: string }>((done, fail) => {
    const sent = request({ host: '127.0.0.1', port, path, method, headers }, (answer) => {
      let body = '';
      answer.on('data', (piece: Buffer) => (body += piece.toString()));
      answer.on('end', () => done({ status: answer.statusCode!, headers: answer.headers, body }));
    });
    sent.on('error', fail);
    sent.end();
  });
}

test('hands out the app with the right types', async () => {
  expect((await raw('/')).headers['content-type']).toBe('text/html; charset=utf-8');
  expect((await raw('/assets/app-AbCd1234.js')).headers['content-type']).toBe(
    'text/javascript; charset=utf-8',
  );
  // WebAssembly.compileStreaming takes this type only (WebAssembly Web API, section 3).
  expect((await raw('/runtime.wasm')).headers['content-type']).toBe('application/wasm');
  expect((await raw('/app.webmanifest')).headers['content-type']).toMatch(/^application\/manifest\+json/);
});

test('every answer carries the security headers, refusals too', async () => {
  for (const path of ['/', '/runtime.wasm', '/none', '/%zz']) {
    const { headers } = await raw(path);
    for (const [name, value] of Object.entries(securityHeaders()))
      expect(headers[name.toLowerCase()]).toBe(value);
  }
});

test('the policy has no inline, no eval but WebAssembly, and no other origin', () => {
  const policy = securityHeaders()['Content-Security-Policy']!;
  expect(policy).toContain("default-src 'none'");
  expect(policy).not.toMatch(/unsafe-inline|'unsafe-eval'|https?:|\*/);
  expect(policy).toContain("script-src 'self' 'wasm-unsafe-eval';");
  expect(securityHeaders('https://fhir.example')['Content-Security-Policy']).toContain(
    "connect-src 'self' https://fhir.example;",
  );
  expect(securityHeaders()['Permissions-Policy']).toContain('microphone=(self)');
  expect(securityHeaders()['Permissions-Policy']).toContain('camera=()');
});

test.each([
  '/../secret.txt',
  '/%2e%2e/secret.txt',
  '/..%2fsecret.txt',
  '/assets/../../secret.txt',
  '/assets/..%5c..%5csecret.txt',
  '//secret.txt',
  '/link.txt',
  '/.hidden',
  '/assets',
  '/index.html%00.js',
  '/index.html/',
])('no way out of the folder: %s', async (path) => {
  const { status, body } = await raw(path);
  expect(status).toBe(404);
  expect(body).not.toContain('secret');
});

test('reads only: other methods are refused, broken addresses too', async () => {
  expect((await raw('/', 'POST')).status).toBe(405);
  expect((await raw('/', 'DELETE')).status).toBe(405);
  expect((await raw('/%zz')).status).toBe(400);
  const head = await raw('/', 'HEAD');
  expect([head.status, head.body]).toEqual([200, '']);
});

test('named-by-content files are kept for ever, all others are asked for again', async () => {
  expect((await raw('/assets/app-AbCd1234.js')).headers['cache-control']).toContain('immutable');
  const page = await raw('/');
  expect(page.headers['cache-control']).toBe('no-cache');
  const again = await raw('/', 'GET', { 'if-none-match': String(page.headers['etag']) });
  expect([again.status, again.body]).toEqual([304, '']);
});

test('the send-out origin is https, or this machine; anything else stops the start with a sentence', () => {
  expect(readFhirOrigin(undefined)).toBeUndefined();
  expect(readFhirOrigin('https://fhir.example/r4/')).toBe('https://fhir.example');
  expect(readFhirOrigin('http://127.0.0.1:8080/fhir')).toBe('http://127.0.0.1:8080');
  for (const bad of [
    'http://fhir.example',
    'fhir.example',
    'javascript:alert(1)',
    'https://a; script-src *',
  ]) {
    expect(() => readFhirOrigin(bad)).toThrow(/Nothing was started/);
  }
});
