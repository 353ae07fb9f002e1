import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { meaningOf } from '../../../src/core/dialogue/take-in.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import { begins } from '../../../src/core/standby/standby.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

/** Talk that must begin nothing: all of the project's talk as text, and every line of the tables that logs nothing. */
const ROOT = join(import.meta.dirname, '../../..');
const vocabulary = loadVocabulary();
const file = createRecordFile({ recordId: 'r', mode: 'real', wallMs: 0, createdAt: '', timeZone: 'UTC' });
const nothing = foldRecord({ ...file, events: [] });

/**
 * What begins one all the same, as a question: no word of these tells them from a call-out in a noisy room, and a
 * missed beginning is worse than a question.
 */
const KNOWN = [
  'she had a shoulder dystocia with her first',
  'the shoulder dystocia course is in march',
  'her sister had a shoulder dystocia',
  'my last shoulder dystocia was in june',
  'the shoulder dystocia box is in the store room',
  'the shoulder dystocia proforma is in the drawer',
  'the paper on shoulder dystocia came out last year',
  'the head was delivered at ten last time',
  "her last baby's head was out in two pushes",
];

/** Talk of shoulder dystocia, heads and beginnings that are of another day or of nobody. */
const OF_ANOTHER_DAY = [
  'i wrote my dissertation on shoulder dystocia',
  'my thesis was about shoulder dystocia',
  'there was a shoulder dystocia next door last night',
  'we did the shoulder dystocia drill on monday',
  'have you done your shoulder dystocia training',
  'i am reading the guideline on shoulder dystocia',
  'the leaflet explains shoulder dystocia',
  'he teaches shoulder dystocia to the students',
  'i have never seen a shoulder dystocia',
  'that poster is about shoulder dystocia',
  'the risk of shoulder dystocia is in the notes',
  'no history of shoulder dystocia',
  'previous shoulder dystocia in twenty nineteen',
  'they asked me about shoulder dystocia in the interview',
  'the lecture on shoulder dystocia was good',
  'there is a chapter on shoulder dystocia',
  'where is the shoulder dystocia trolley',
  'she is worried about shoulder dystocia',
  'i was told about shoulder dystocia at the clinic',
  'we talked about shoulder dystocia at handover',
  'my exam question was shoulder dystocia',
  'i presented a shoulder dystocia at the meeting',
  'shoulder dystocia is on the agenda for tuesday',
  'shoulder dystocia is my favourite topic',
  'shoulder dystocia happens in about one in two hundred births',
  'shoulder dystocia was mentioned in the letter',
  'is this going to be a shoulder dystocia',
  'could it be a shoulder dystocia',
  'if it is a shoulder dystocia we call for help',
  'the head is not out yet',
  'the head will be out soon',
  'when the head is out i will tell you',
  'once the head is delivered stop pushing',
  'is the head out yet',
  'i can see the head',
  'the head is visible with contractions',
  'the head is on view',
  'the head is crowning',
  'the head is nearly out',
  'my head hurts',
  'put your head back on the pillow',
  'mind your head',
  'the head midwife is off today',
  'she is the head of department',
  'head over to room four',
  'we can begin the infusion at ten',
  'when did the contractions begin',
  "let's begin with a cup of tea",
  'i begin my shift at eight',
  'put your hand in mine',
  'i wrote an essay about the posterior arm',
  'my arm hurts where the drip is',
  'put your arm around her shoulder',
  'posterior arm delivery was in the exam',
  'the course covers rubin and woods screw',
  'we practised woods screw on the dummy',
  'he asked about reverse woods screw in the viva',
  'she had the posterior arm delivered last time',
  'the turtle on the poster is cute',
];

const linesOf = (path: string): string[] =>
  readFileSync(path, 'utf8')
    .split('\n')
    .filter((line) => line.trim() !== '' && !line.startsWith('#'));

const talk = ['talk.txt', 'talk-long.txt'].flatMap((name) => linesOf(join(ROOT, 'models/training', name)));
const tables = join(ROOT, 'tests/core/interpret/table');
const logsNothing = readdirSync(tables).flatMap((name) =>
  linesOf(join(tables, name))
    .map((line) => line.split('\t'))
    .filter(([, outcome]) => outcome === 'unrecognised')
    .map(([words]) => words!),
);

const startOf = (words: string): boolean =>
  begins(
    meaningOf(
      { onsetMs: 0, endMs: 1000, heard: { tuned: { text: words }, untouched: { text: words } } as never },
      nothing,
      vocabulary,
    ),
  );

test.each([
  ['talk of a delivery room', talk, 500],
  ['talk of another day', [...OF_ANOTHER_DAY, ...KNOWN], 60],
  ['lines that log nothing', logsNothing, 500],
])(
  '%s begins no record',
  (_, lines, least) => {
    expect(lines.length).toBeGreaterThan(least);
    expect(lines.filter(startOf).filter((line) => !KNOWN.includes(line))).toEqual([]);
  },
  60_000,
);
