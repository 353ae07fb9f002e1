import { expect, it } from 'vitest';
import type { QuestionView } from '../../../src/core/log/view.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';
import { answersTo } from '../../../src/ui/live/answers.ts';

const vocabulary = loadVocabulary();
const question = (part: Partial<QuestionView>): QuestionView => ({
  questionId: 'q',
  entries: [],
  alternatives: [],
  problem: 'unclear',
  atMs: 0,
  timing: 'heard',
  state: 'open',
  seq: 1,
  by: { kind: 'voice' },
  ...part,
});

it('offers the sides of a pressure without one, and nothing else', () => {
  const answers = answersTo(
    question({ entries: [{ code: 'suprapubic-pressure', phase: 'start' }], problem: 'side-missing' }),
    vocabulary,
  );
  expect(answers.map(({ entries }) => entries)).toEqual([
    [{ code: 'suprapubic-pressure', phase: 'start', side: 'left' }],
    [{ code: 'suprapubic-pressure', phase: 'start', side: 'right' }],
  ]);
});

it('takes the side of a baby’s shoulder as the baby’s own', () => {
  const answers = answersTo(
    question({ entries: [{ code: 'anterior-shoulder' }], problem: 'side-missing' }),
    vocabulary,
  );
  expect(answers.map(({ entries }) => entries[0])).toEqual([
    { code: 'anterior-shoulder', babySide: 'left' },
    { code: 'anterior-shoulder', babySide: 'right' },
  ]);
});

it('offers the best reading and the others of an unclear line', () => {
  const answers = answersTo(
    question({
      entries: [{ code: 'rubin-2', unclear: true }],
      alternatives: [{ entries: [{ code: 'suprapubic-pressure' }] }],
    }),
    vocabulary,
  );
  expect(answers.map(({ entries }) => entries)).toEqual([
    [{ code: 'rubin-2' }],
    [{ code: 'suprapubic-pressure' }],
  ]);
});

it('never offers half an entry: a score without its minute, a value that was out of range', () => {
  const half = question({ entries: [{ code: 'apgar' }], problem: 'minute-missing' });
  expect(answersTo(half, vocabulary)).toEqual([]);
  const far = question({
    entries: [{ code: 'cord-gas', vessel: 'arterial', spoken: 'pH seventy one point eight' }],
    problem: 'out-of-range',
  });
  expect(answersTo(far, vocabulary)).toEqual([]);
});

it('offers the minutes of an Apgar score', () => {
  const answers = answersTo(
    question({ entries: [{ code: 'apgar', score: 9 }], problem: 'minute-missing' }),
    vocabulary,
  );
  expect(answers.map(({ entries }) => entries[0]!.minute)).toEqual([1, 5, 10, 15, 20]);
});

it('offers how an arm went and never its bare name, which may be an end that was misheard', () => {
  const asked = question({
    entries: [{ code: 'posterior-arm' }],
    alternatives: (['start', 'done', 'failed'] as const).map((phase) => ({
      entries: [{ code: 'posterior-arm', phase }],
    })),
  });
  expect(answersTo(asked, vocabulary).map(({ entries }) => entries[0]!.phase)).toEqual([
    'start',
    'done',
    'failed',
  ]);
});
