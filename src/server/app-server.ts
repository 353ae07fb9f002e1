import { createReadStream } from 'node:fs';
import { realpath, stat } from 'node:fs/promises';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { extname, join, resolve, sep } from 'node:path';
import { securityHeaders } from './headers.ts';

const TYPES: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.wasm': 'application/wasm',
  '.onnx': 'application/octet-stream',
  '.wav': 'audio/wav',
  '.txt': 'text/plain; charset=utf-8',
  '.md': 'text/plain; charset=utf-8',
};

/** Vite names these after their content; everything else is asked for again and answered "unchanged". */
const NEVER_CHANGES = /^\/assets\/.+-[\w-]{8}\.\w+$/;

interface Found {
  file: string;
  size: number;
  modified: Date;
}

/** The file of a request path within `root`, or nothing: no way out of it, no hidden files, no folders. */
async function find(root: string, path: string): Promise<Found | undefined> {
  if (path.includes('\0') || path.includes('\\') || path.split('/').some((part) => part.startsWith('.')))
    return;
  const wanted = resolve(join(root, path.endsWith('/') ? `${path}index.html` : path));
  if (!wanted.startsWith(root + sep)) return;
  try {
    const file = await realpath(wanted);
    if (!file.startsWith(root + sep)) return;
    const facts = await stat(file);
    return facts.isFile() ? { file, size: facts.size, modified: facts.mtime } : undefined;
  } catch {
    return undefined;
  }
}

function requestPath(request: IncomingMessage): string | undefined {
  try {
    return decodeURIComponent((request.url ?? '/').split(/[?#]/)[0]!);
  } catch {
    return undefined;
  }
}

async function answer(
  root: string,
  more: Readonly<Record<string, string>>,
  request: IncomingMessage,
  response: ServerResponse,
): Promise<void> {
  const refuse = (status: number, sentence: string) => {
    response.writeHead(status, { 'Content-Type': TYPES['.txt'], 'Cache-Control': 'no-store' });
    response.end(request.method === 'HEAD' ? undefined : `${sentence}\n`);
  };
  if (request.method !== 'GET' && request.method !== 'HEAD') {
    response.setHeader('Allow', 'GET, HEAD');
    return refuse(405, 'This server only hands out the app.');
  }
  const path = requestPath(request);
  if (path === undefined || !path.startsWith('/')) return refuse(400, 'This address cannot be read.');
  const added = Object.hasOwn(more, path.slice(1)) ? more[path.slice(1)] : undefined;
  if (added !== undefined) {
    response.writeHead(200, { 'Content-Type': TYPES['.json'], 'Cache-Control': 'no-cache' });
    response.end(request.method === 'HEAD' ? undefined : added);
    return;
  }
  const found = await find(root, path);
  if (!found) return refuse(404, 'There is no such file in the app.');
  const tag = `"${found.size.toString(36)}-${Math.trunc(found.modified.getTime()).toString(36)}"`;
  response.setHeader('ETag', tag);
  response.setHeader(
    'Cache-Control',
    NEVER_CHANGES.test(path) ? 'public, max-age=31536000, immutable' : 'no-cache',
  );
  if (request.headers['if-none-match'] === tag) {
    response.writeHead(304).end();
    return;
  }
  response.writeHead(200, {
    'Content-Type': TYPES[extname(found.file)] ?? 'application/octet-stream',
    'Content-Length': found.size,
  });
  if (request.method === 'HEAD') {
    response.end();
    return;
  }
  const file = createReadStream(found.file);
  file.on('error', () => response.destroy());
  response.on('close', () => file.destroy());
  file.pipe(response);
}

/**
 * A server for the built app in the folder `directory`, with its security headers. `fhirOrigin`: see
 * readFhirOrigin. `more`: JSON files besides, by their path. Not yet listening; bind it to the loopback address.
 */
export async function createAppServer(
  directory: string,
  fhirOrigin?: string,
  more: Readonly<Record<string, string>> = {},
): Promise<Server> {
  const root = await realpath(directory);
  const headers = Object.entries(securityHeaders(fhirOrigin));
  return createServer((request, response) => {
    for (const [name, value] of headers) response.setHeader(name, value);
    answer(root, more, request, response).catch(() => response.destroy());
  });
}
