import { expect, it } from 'vitest';
import { emptyTalk, talkProblem, type TalkProblem } from '../../../src/ui/talks/talk.ts';

const TALK = { ...emptyTalk('2026-10-16T10:30'), who: 'Invented One', withWhom: 'the mother', asked: 'why' };

it.each<[string, Partial<typeof TALK>, TalkProblem | null]>([
  ['complete', {}, null],
  ['held this minute', { heldAt: '2026-10-17T09:00' }, null],
  ['on the day of the birth', { heldAt: '2026-10-14T00:10' }, null],
  ['no time', { heldAt: '' }, 'when'],
  ['still to come', { heldAt: '2026-10-17T09:01' }, 'future'],
  ['before the day of the record', { heldAt: '2026-10-13T23:59' }, 'before'],
  ['nobody spoke', { who: '  ' }, 'who'],
  ['with nobody', { withWhom: '' }, 'withWhom'],
  ['nothing said', { asked: ' ' }, 'empty'],
])('%s', (_, change, problem) => {
  expect(talkProblem({ ...TALK, ...change }, '2026-10-17T09:00', '2026-10-14')).toBe(problem);
});
