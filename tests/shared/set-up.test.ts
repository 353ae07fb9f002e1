import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { spawnSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { securityHeaders } from '../../src/server/headers.ts';
import { readGrant, writeGrant } from '../../src/server/shared/grants.ts';
import { setUp } from '../../src/server/shared/set-up.ts';
import { readCard, readDepartmentKey } from '../../src/shared/department-key.ts';
import { binary } from './department.ts';

let folder: string;
const server = () => join(folder, 'server');
const keyFile = () => join(folder, 'key.json');
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'utterlog-set-up-'));
  await setUp({ host: 'records.hospital.example', folder: server(), keyFile: keyFile() });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const everything = (path: string): string =>
  readdirSync(path, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => readFileSync(join(entry.parentPath, entry.name), 'utf8'))
    .join('\n');

test('the department’s private key is in its own file and nowhere in the server’s folder', () => {
  const key = JSON.parse(readFileSync(keyFile(), 'utf8')) as { wrap: { d: string }; sign: { d: string } };
  expect(key.wrap.d.length).toBeGreaterThan(40);
  const all = everything(server());
  expect(all).not.toContain(key.wrap.d);
  expect(all).not.toContain(key.sign.d);
  expect(statSync(keyFile()).mode & 0o077).toBe(0);
  expect(statSync(join(server(), 'gate.json')).mode & 0o077).toBe(0);
});

test('the card fits the key, and anything else is refused with a sentence', async () => {
  const card = readCard(JSON.parse(readFileSync(join(server(), 'public/shared.json'), 'utf8')));
  const keys = await readDepartmentKey(readFileSync(keyFile(), 'utf8'));
  expect([card.wrapKey, card.signKey]).toEqual([keys.wrapPublic, keys.signPublic]);
  expect(keys.wrapPrivate.extractable).toBe(false);
  await expect(readDepartmentKey('{}')).rejects.toThrow(/no key of a department/);
  await expect(readDepartmentKey('not JSON')).rejects.toThrow(/no key of a department/);
  expect(() => readCard({ format: 'other' })).toThrow(/says nothing of shared records/);
  expect(() => readCard({ ...card, version: 2 })).toThrow(/another version/);
});

test('every acknowledged event is on the disk, and the proxy sends the app’s own headers', () => {
  expect(readFileSync(join(server(), 'log-1.conf'), 'utf8')).toMatch(/sync_interval: always/);
  const proxy = readFileSync(join(server(), 'Caddyfile'), 'utf8');
  for (const [name, value] of Object.entries(securityHeaders()))
    expect(proxy).toContain(`${name} "${value}"`);
  expect(proxy).toMatch(/handle \/log \{\n\s+reverse_proxy 127\.0\.0\.1:8443/);
  expect(readFileSync(join(server(), 'utterlog-log.service'), 'utf8')).toMatch(/Restart=always/);
});

test('what is there already is left alone, and the key never goes into the server’s folder', async () => {
  const again = setUp({ host: 'x', folder: server(), keyFile: join(folder, 'other.json') });
  await expect(again).rejects.toThrow(/set up already. Nothing was changed/);
  const within = setUp({ host: 'x', folder: join(folder, 'b'), keyFile: join(folder, 'b/key.json') });
  await expect(within).rejects.toThrow(/must not lie in the server’s folder/);
  const over = setUp({ host: 'x', folder: join(folder, 'c'), keyFile: keyFile() });
  await expect(over).rejects.toThrow(/is there already/);
  const odd = setUp({ host: 'x {\n evil', folder: join(folder, 'd'), keyFile: join(folder, 'd.json') });
  await expect(odd).rejects.toThrow(/no name of a host/);
  expect(existsSync(join(folder, 'd'))).toBe(false);
});

test('three nodes know each other', async () => {
  const three = join(folder, 'three');
  await setUp({
    host: 'records.example',
    folder: three,
    keyFile: join(folder, 'three.json'),
    nodes: ['log-a.example', 'log-b.example', 'log-c.example'],
  });
  const second = readFileSync(join(three, 'log-2.conf'), 'utf8');
  for (const host of ['log-a', 'log-b', 'log-c'])
    expect(second).toMatch(new RegExp(`@${host}.example:6222"`));
  expect(readFileSync(join(three, 'gate.json'), 'utf8')).toMatch(/"replicas": 3/);
});

test.skipIf(!binary)('the log server takes the configurations as they are written', () => {
  for (const config of [join(server(), 'log-1.conf'), join(folder, 'three/log-1.conf')]) {
    const { status, stderr } = spawnSync(binary!, ['-t', '-c', config], { encoding: 'utf8' });
    expect(status, stderr).toBe(0);
  }
});

test('a pass is only what this server made, and ends', () => {
  const key = new Uint8Array(32).fill(7);
  const grant = { kind: 'person', id: 'p', name: 'A. Sample', roles: ['reads'], untilMs: 1000 } as const;
  const text = writeGrant(key, { ...grant, roles: ['reads'] });
  expect(readGrant(key, text, 999)).toEqual(grant);
  expect(readGrant(key, text, 1001)).toEqual({ refused: expect.stringMatching(/run out/) });
  const more = Buffer.from(JSON.stringify({ ...grant, roles: ['administers'] })).toString('base64url');
  for (const wrong of [`${more}.${text.split('.')[1]}`, `${text}x`, '', null, 'a.b.c'])
    expect(readGrant(key, wrong, 0)).toEqual({ refused: expect.stringMatching(/not made by this server/) });
});
