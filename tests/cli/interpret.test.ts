import { spawnSync } from 'node:child_process';
import { expect, test } from 'vitest';

const ROOT = new URL('../../', import.meta.url).pathname;

test('interpret: one JSON object a line, in order, two readings by tab', { timeout: 60_000 }, () => {
  const input =
    'head out\nsuprapubic pressure from the left\tSuper pubic pressure from the right.\nundo\n\nthe weather is nice\n';
  const { stdout, status } = spawnSync('npx', ['tsx', 'src/cli/interpret.ts'], {
    cwd: ROOT,
    input,
    encoding: 'utf8',
  });
  expect(status).toBe(0);
  const lines = stdout
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line));
  expect(lines.map((line) => line.outcome)).toEqual([
    'accept',
    'ask',
    'command',
    'unrecognised',
    'unrecognised',
  ]);
  expect(lines[0].entries).toEqual([{ code: 'head-delivered' }]);
  expect(lines[1].problem).toBe('unclear');
  expect(lines[2]).toMatchObject({ entries: [], command: { code: 'undo' } });
  expect(stdout).not.toMatch(/null|undefined/);
});
