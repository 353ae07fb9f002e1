import { expect, test } from 'vitest';
import { takeIn } from '../../../src/core/dialogue/take-in.ts';
import type { Author, EventBody, LogEvent } from '../../../src/core/log/events.ts';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { createRecordFile } from '../../../src/core/log/new-record.ts';
import { ordinaryBirth } from '../../../src/core/standby/ordinary-birth.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const S = 1000;
const MINUTE = 60 * S;
type Said = [words: string, atSeconds: number] | { body: EventBody; by?: Author['kind'] };

function viewOf(said: Said[], by: 'voice' | 'touch' | null = 'voice') {
  const file = createRecordFile({
    recordId: 'r',
    mode: 'real',
    wallMs: 0,
    createdAt: '',
    timeZone: 'UTC',
    ...(by ? { standby: { by, sinceMs: 0 } } : {}),
  });
  let events: LogEvent[] = file.events.slice();
  let n = 0;
  const add = (body: EventBody, kind: Author['kind'], madeAtMs: number) => {
    const rest = { by: { kind }, madeAtMs, madeAt: '', previousHash: '', hash: '' };
    events = [...events, { ...body, seq: events.length, ...rest } as LogEvent];
  };
  for (const one of said) {
    if (!Array.isArray(one)) {
      add(one.body, one.by ?? 'system', 0);
      continue;
    }
    const [words, at] = one;
    const heard = { tuned: { text: words }, untouched: { text: words } } as never;
    const utterance = { onsetMs: at * S, endMs: at * S + S, heard };
    const { bodies } = takeIn(utterance, foldRecord({ ...file, events }), vocabulary, () => `id${n++}`);
    for (const body of bodies) add(body, 'voice', at * S + 2 * S);
  }
  return foldRecord({ ...file, events });
}

const BIRTH: Said[] = [
  ['head delivered', 0],
  ['baby born', 40],
];

test.each<[string, Said[], number, string]>([
  ['a head alone, lately', [['head delivered', 0]], 59, 'open'],
  ['a head alone for more than a minute', [['head delivered', 0]], 61, 'kept'],
  ['the body within a minute', BIRTH, 60, 'asking'],
  [
    'the body after a minute',
    [
      ['head delivered', 0],
      ['baby born', 61],
    ],
    70,
    'kept',
  ],
  ['ten minutes later, unanswered', BIRTH, 42 + 600, 'unanswered'],
  ['just before', BIRTH, 41 + 600, 'asking'],
  [
    'cord, placenta, cry and pushing change nothing but the time',
    [...BIRTH, ['baby crying', 60], ['cord clamped', 90], ['placenta delivered', 300]],
    700,
    'asking',
  ],
  [
    'until ten minutes after the last of them',
    [...BIRTH, ['placenta delivered', 300]],
    302 + 600,
    'unanswered',
  ],
  ['a manoeuvre', [...BIRTH, ['mcroberts on', 50]], 9000, 'kept'],
  [
    'a manoeuvre before the head',
    [
      ['mcroberts on', 0],
      ['head delivered', 10],
      ['baby born', 40],
    ],
    9000,
    'kept',
  ],
  [
    'a declaration',
    [
      ['head delivered', 0],
      ['shoulder dystocia', 20],
      ['baby born', 40],
    ],
    9000,
    'kept',
  ],
  ['a value', [...BIRTH, ['apgar nine at one minute', 100]], 9000, 'kept'],
  ['something asked about', [...BIRTH, ['apgar nine', 100]], 9000, 'kept'],
  ['a command', [...BIRTH, ['mark', 100]], 9000, 'kept'],
  ['a question to the tool', [...BIRTH, ['how long since the head', 100]], 9000, 'kept'],
  ['"keep"', [...BIRTH, ['keep it', 60]], 9000, 'kept'],
  ['"undo"', [...BIRTH, ['undo', 60]], 9000, 'kept'],
  ['talk', [...BIRTH, ['well done it is a girl', 60]], 9000, 'unanswered'],
  [
    'something that could not be recognised',
    [
      ...BIRTH,
      {
        body: {
          kind: 'utterance',
          utteranceId: 'u',
          onsetMs: 0,
          endMs: 1,
          heard: '',
          confidence: 0,
          outcome: 'unrecognised',
          unheard: 'recogniser-failed',
        },
      },
    ],
    9000,
    'kept',
  ],
  [
    'a gap in listening',
    [...BIRTH, { body: { kind: 'speech-state', state: 'unavailable', atMs: 50 * S } }],
    9000,
    'kept',
  ],
  [
    'a helper at the pad',
    [...BIRTH, { body: { kind: 'field', field: 'reference', value: 'x' }, by: 'helper' }],
    9000,
    'kept',
  ],
  ['two bodies', [...BIRTH, ['baby born', 200]], 9000, 'kept'],
  ['a finish', [...BIRTH, { body: { kind: 'finish', atMs: 100 * S } }], 9000, 'kept'],
])('%s', (_, said, atSeconds, kind) => {
  expect(ordinaryBirth(viewOf(said), atSeconds * S, false).kind).toBe(kind);
});

test('a record that a touch began, one without standby, and one that was touched are kept', () => {
  const at = 60 * MINUTE;
  expect(ordinaryBirth(viewOf(BIRTH, 'touch'), at, false).kind).toBe('kept');
  expect(ordinaryBirth(viewOf(BIRTH, null), at, false).kind).toBe('kept');
  expect(ordinaryBirth(viewOf(BIRTH), at, true).kind).toBe('kept');
  expect(ordinaryBirth(viewOf(BIRTH), at, false).kind).toBe('unanswered');
});
