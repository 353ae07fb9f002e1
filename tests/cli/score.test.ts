import { expect, it } from 'vitest';
import { score, scoreText, type Trial } from '../../src/cli/score.ts';

const HOUR = 3_600_000;
const trial = (part: Partial<Trial>): Trial => ({
  name: 'one',
  audioMs: HOUR,
  expected: [],
  accepted: [],
  asked: [],
  ...part,
});
const left = { code: 'suprapubic-pressure', side: 'left' } as const;
const right = { code: 'suprapubic-pressure', side: 'right' } as const;

it('gives each spoken entry exactly one fate', () => {
  const result = score([
    trial({ expected: [{ entry: left, onsetMs: 1000 }], accepted: [{ entry: left, onsetMs: 1040 }] }),
    trial({ expected: [{ entry: left }], accepted: [{ entry: right }] }),
    trial({ expected: [{ entry: left }], asked: [left] }),
    trial({ expected: [{ entry: left }] }),
    trial({ expected: [{ entry: left }], accepted: [{ entry: { code: 'rubin-2' } }] }),
  ]);
  expect(result.right).toMatchObject({ count: 1, of: 5 });
  expect(result.wrong).toMatchObject({ count: 2, of: 5 });
  expect(result.asked).toMatchObject({ count: 1, of: 5 });
  expect(result.missed).toMatchObject({ count: 1, of: 5 });
  expect(result.slots).toMatchObject({ count: 1, of: 2 });
  expect(result.onsetError).toMatchObject({ count: 1, medianMs: 40 });
  expect(result.confusion).toContainEqual({ spoken: left.code, heard: 'rubin-2', count: 1 });
});

it('counts what was accepted beyond what was spoken', () => {
  const surplus = score([
    trial({ expected: [{ entry: left }], accepted: [{ entry: left }, { entry: { code: 'cry' } }] }),
  ]);
  expect(surplus).toMatchObject({ surplus: 1, right: { count: 1 } });
});

it('counts entries an hour in speech that must log nothing', () => {
  const { falseEntries } = score([trial({ accepted: [{ entry: left }] }), trial({}), trial({}), trial({})]);
  expect(falseEntries).toMatchObject({ count: 1, hours: 4, perHour: 0.25 });
});

it('prints every number with its interval and the name of the method', () => {
  const text = scoreText(
    score([trial({ accepted: [{ entry: left }] }), trial({ expected: [{ entry: left }] })]),
  );
  expect(text).toMatch(/Missed .* 100\.0 % .*Wilson/);
  expect(text).toMatch(/False entries an hour .* 1\.00 .*Poisson exact/);
});
