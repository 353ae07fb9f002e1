import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { makeResampler, SPEECH_RATE } from '../../src/audio/resample.ts';
import { writeWav } from '../../src/audio/wav.ts';
import { joined, say, silence } from '../../src/lab/say.ts';
import { verifyChain } from '../../src/core/log/chain.ts';
import type { RecordFile } from '../../src/core/log/events.ts';
import { needSynthesiser } from './recordings.ts';

/** The command lines, as a person runs them. */
const ROOT = join(import.meta.dirname, '../..');
const folder = mkdtempSync(join(tmpdir(), 'replay-'));
const file = join(folder, 'two.wav');
const run = (script: string, ...args: string[]) =>
  spawnSync('npm', ['run', '-s', script, '--', ...args], { cwd: ROOT, encoding: 'utf8' });

beforeAll(() => {
  needSynthesiser();
  const samples = joined([
    silence(1000),
    say('shoulder dystocia', 'en-gb'),
    silence(1500),
    say('suprapubic pressure from the left', 'en-gb'),
    silence(1000),
  ]);
  writeFileSync(file, writeWav({ sampleRate: SPEECH_RATE, samples }));
  writeFileSync(join(folder, 'note.txt'), 'no recording');
  writeFileSync(join(folder, 'empty.wav'), '');
});
afterAll(() => rmSync(folder, { recursive: true }));

it('prints one line per utterance and a summary last, and writes the record', () => {
  const record = join(folder, 'record.json');
  const { status, stdout, stderr } = run('replay', file, '--record', record);
  expect(stderr).toBe('');
  expect(status).toBe(0);
  const lines = stdout
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Record<string, unknown>);
  expect(lines).toHaveLength(3);
  expect(lines[0]).toMatchObject({
    file,
    heard: 'shoulder dystocia',
    outcome: 'accept',
    entries: [{ code: 'dystocia-declared' }],
  });
  expect(lines[1]).toMatchObject({ entries: [{ code: 'suprapubic-pressure', side: 'left' }] });
  for (const line of lines.slice(0, 2)) {
    expect(line).toHaveProperty('heardSecond');
    expect(line['confidence']).toBeTypeOf('number');
    expect(line['endMs'] as number).toBeGreaterThan(line['onsetMs'] as number);
  }
  expect(lines[2]).toMatchObject({ summary: { utterances: 2 } });
  const written = JSON.parse(readFileSync(record, 'utf8')) as RecordFile;
  expect(written.format).toBe('utterlog-record');
  expect(verifyChain(written.events).kind).toBe('intact');
  expect(written.events.filter(({ kind }) => kind === 'entry')).toHaveLength(2);
});

it.each([
  ['a file that is not there', ['nowhere.wav'], /no such file/],
  ['a file that is no recording', ['note.txt'], /not a WAV/],
  ['an empty file', ['empty.wav'], /empty/],
  ['no file at all', [], /at least one/],
])('refuses %s with exit code 2 and a sentence', (_what, names, sentence) => {
  const { status, stdout, stderr } = run('replay', ...names.map((name) => join(folder, name)));
  expect(status).toBe(2);
  expect(stderr).toMatch(sentence);
  expect(stdout).toBe('');
});

it('refuses a good file together with a bad one before anything is heard', () => {
  const { status, stdout } = run('replay', file, join(folder, 'nowhere.wav'));
  expect(status).toBe(2);
  expect(stdout).toBe('');
});

it('hears the same from 44.1 kHz as from 16 kHz', () => {
  const resampler = makeResampler(SPEECH_RATE, 44_100);
  const dry = joined([silence(800), say('posterior arm delivered', 'en-gb'), silence(800)]);
  const high = join(folder, 'high.wav');
  const samples = joined([resampler.push(dry), resampler.flush()]);
  writeFileSync(high, writeWav({ sampleRate: 44_100, samples }));
  const [line] = run('replay', high).stdout.split('\n');
  expect(JSON.parse(line!)).toMatchObject({ entries: [{ code: 'posterior-arm', phase: 'done' }] });
});

it('scores a folder of recordings', () => {
  writeFileSync(
    join(folder, 'two.json'),
    JSON.stringify({
      entries: [{ code: 'dystocia-declared' }, { code: 'suprapubic-pressure', side: 'right' }],
    }),
  );
  rmSync(join(folder, 'empty.wav'));
  rmSync(join(folder, 'high.wav'), { force: true });
  const report = join(folder, 'report.json');
  const { status, stdout } = run('evaluate', folder, '--json', report);
  expect(status).toBe(0);
  expect(stdout).toMatch(/Right \(recall\)\s+50\.0 %/);
  expect(stdout).toMatch(/Wrong accepts\s+50\.0 %/);
  expect(existsSync(report)).toBe(true);
});
