import { expect, it } from 'vitest';
import { foldRecord } from '../../../src/core/log/fold.ts';
import { exportRecord } from '../../../src/core/record/export.ts';
import { importRecord } from '../../../src/core/record/import.ts';
import { at, MadeRecord } from './make-record.ts';

const recordWith = (unheard: 'too-far-behind' | 'recogniser-failed'): MadeRecord => {
  const made = new MadeRecord();
  return made.append({ kind: 'system' }, at(1, 3), {
    kind: 'utterance',
    utteranceId: made.newId(),
    onsetMs: at(1),
    endMs: at(1, 2),
    heard: '',
    confidence: 0,
    outcome: 'unrecognised',
    unheard,
  });
};

it.each(['too-far-behind', 'recogniser-failed'] as const)(
  'a record with speech that was not heard (%s) goes out and comes in unchanged, and says why',
  (unheard) => {
    const { file } = recordWith(unheard);
    expect(importRecord(exportRecord(file))).toEqual({ kind: 'ok', file });
    expect(foldRecord(file).utterances[0]).toMatchObject({ heard: '', unheard });
  },
);
