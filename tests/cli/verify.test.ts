import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { exportRecord } from '../../src/core/record/export.ts';
import { INVENTED } from '../core/note/invented-records.ts';

const ROOT = new URL('../../', import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), 'verify-'));
afterAll(() => rmSync(folder, { recursive: true }));

function verify(content: string, ...args: string[]) {
  const path = join(folder, 'record.json');
  writeFileSync(path, content);
  const { status, stdout } = spawnSync('npx', ['tsx', 'src/cli/verify.ts', path, ...args], {
    cwd: ROOT,
    encoding: 'utf8',
  });
  return { status, lines: stdout.split('\n') };
}

const { file } = INVENTED['short-easy-birth']!();
const text = exportRecord(file);
const head = file.events.at(-1)!.hash;

test(
  'prints what was found and the head, and ends with 0 only where nothing was',
  { timeout: 120_000 },
  () => {
    const whole = verify(text, '--head', head);
    expect(whole.status).toBe(0);
    expect(whole.lines).toEqual(expect.arrayContaining(['not signed', `head ${head}`]));
    expect(verify(text.replace('"atMs":130000', '"atMs":131000'))).toMatchObject({ status: 1 });
    const cut = JSON.parse(text) as { events: unknown[] };
    cut.events.pop();
    expect(verify(JSON.stringify(cut))).toMatchObject({
      status: 1,
      lines: expect.arrayContaining(['shortened']),
    });
    expect(verify(text, '--head', 'f'.repeat(64))).toMatchObject({ status: 1 });
    expect(verify('{}').status).toBe(2);
  },
);
