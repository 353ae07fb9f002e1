import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { httpReader, loadModelFiles, type FileReader, type LoadProgress } from '../../src/asr/model-files.ts';
import { folderReader } from '../../src/asr/model-folder.ts';
import { MODELS } from '../../src/lab/open-models.ts';

const BYTES = new TextEncoder().encode('a model file');
const MANIFEST = {
  format: 'utterlog-models',
  files: [{ path: 'a.onnx', bytes: BYTES.length, sha256: createHash('sha256').update(BYTES).digest('hex') }],
};

function readerOf(files: Record<string, Uint8Array | 'unreachable'>): FileReader {
  return async (path) => {
    const bytes = files[path];
    if (bytes === undefined) return { kind: 'missing' };
    return bytes === 'unreachable' ? { kind: 'unreachable' } : { kind: 'found', bytes };
  };
}

const manifest = new TextEncoder().encode(JSON.stringify(MANIFEST));
const altered = BYTES.slice();
altered[3]! ^= 1;

describe('loadModelFiles', () => {
  it('hands out the bytes that match, and no others', async () => {
    const loaded = await loadModelFiles(readerOf({ 'manifest.json': manifest, 'a.onnx': BYTES }));
    if (loaded.kind !== 'ok') throw new Error(loaded.sentence);
    expect(loaded.files.get('a.onnx')).toEqual(BYTES);
    expect(() => loaded.files.get('b.onnx')).toThrow(/does not list/);
  });

  it.each([
    ['missing', { 'manifest.json': manifest }, /a\.onnx is missing/],
    ['cut', { 'manifest.json': manifest, 'a.onnx': BYTES.slice(0, 5) }, /not complete/],
    ['altered', { 'manifest.json': manifest, 'a.onnx': altered }, /not the one that was released/],
    ['altered', { 'manifest.json': manifest, 'a.onnx': new Uint8Array([...BYTES, 0]) }, /not the one/],
    ['unreachable', { 'manifest.json': manifest, 'a.onnx': 'unreachable' as const }, /could not be fetched/],
    ['missing', {}, /manifest\.json is missing/],
    ['altered', { 'manifest.json': new TextEncoder().encode('<html>') }, /manifest\.json is not/],
  ] as const)('refuses a file that is %s, in a sentence', async (kind, files, sentence) => {
    const result = await loadModelFiles(readerOf(files));
    if (result.kind === 'ok') throw new Error('It was not refused.');
    expect(result.kind).toBe(kind);
    expect(result.sentence).toMatch(sentence);
    expect(result.sentence).toMatch(/by touch/);
  });

  it('accepts the files of this release and tells their progress in bytes', async () => {
    const told: LoadProgress[] = [];
    const loaded = await loadModelFiles(folderReader(MODELS), (progress) => told.push(progress));
    expect(loaded.kind).toBe('ok');
    const { loadedBytes, totalBytes } = told.at(-1)!;
    expect(loadedBytes).toBe(totalBytes);
    // With the app and its runtime (11 MB) the first start stays below 50 MB.
    expect(totalBytes).toBeLessThan(38_000_000);
    expect(told.every((one, k) => k === 0 || one.loadedBytes >= told[k - 1]!.loadedBytes)).toBe(true);
  });
});

describe('httpReader', () => {
  const answer = (response: Response | Error): ReturnType<FileReader> => {
    const before = globalThis.fetch;
    globalThis.fetch = async () => {
      if (response instanceof Error) throw response;
      return response;
    };
    return httpReader('http://localhost/models/')('a.onnx').finally(() => (globalThis.fetch = before));
  };

  it('takes a server page in place of the file for a missing file', async () => {
    const page = new Response('<!doctype html>', { headers: { 'content-type': 'text/html' } });
    expect(await answer(page)).toEqual({ kind: 'missing' });
    expect(await answer(new Response('', { status: 404 }))).toEqual({ kind: 'missing' });
  });

  it('tells an unreachable server from a missing file', async () => {
    expect(await answer(new TypeError('no network'))).toEqual({ kind: 'unreachable' });
    expect(await answer(new Response('', { status: 500 }))).toEqual({ kind: 'unreachable' });
  });

  it('keeps what came before a connection broke, so that the check finds it cut', async () => {
    const broken = new ReadableStream<Uint8Array>({
      start(controller) {
        controller.enqueue(BYTES.slice(0, 4));
      },
      pull(controller) {
        controller.error(new Error('connection lost'));
      },
    });
    expect(await answer(new Response(broken))).toMatchObject({ kind: 'found' });
  });
});
