import { randomUUID } from 'node:crypto';
import type { Recogniser } from '../asr/recogniser.ts';
import type { SpeechProbability } from '../asr/silero.ts';
import type { Sound } from '../audio/wav.ts';
import type { Interpretation } from '../core/interpret/interpretation.ts';
import { sealEvents } from '../core/log/chain.ts';
import type { RecordFile } from '../core/log/events.ts';
import { foldRecord } from '../core/log/fold.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { takeIn } from '../core/log/take-in.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { hearSound, type HeardEvent, type HeardSound } from './hear-sound.ts';

/**
 * A recording → the record that results, as the running app would keep it. Record time 0 is the recording's
 * first sample; the record's wall clock begins at `wallMs`.
 */
export async function hearRecord(
  models: { recogniser: Recogniser; newSpeechProbability: () => SpeechProbability },
  sound: Sound,
  vocabulary: Vocabulary,
  wallMs: number,
  onTaken: (event: HeardEvent, interpretation: Interpretation & { confidence: number }) => void = () => {},
): Promise<{ record: RecordFile; sound: HeardSound }> {
  const record = createRecordFile({
    recordId: randomUUID(),
    mode: 'real',
    wallMs,
    createdAt: new Date(wallMs).toISOString(),
    timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
  });
  const result = await hearSound(models, sound, (event) => {
    const { onsetMs, endMs, heard } = event;
    const { interpretation, bodies, fault } = takeIn(
      { onsetMs, endMs, heard },
      foldRecord(record),
      vocabulary,
      randomUUID,
    );
    if (fault !== undefined) console.error(fault);
    const madeAt = new Date(wallMs + endMs).toISOString();
    const made = { by: { kind: 'voice' }, madeAtMs: endMs, madeAt } as const;
    record.events.push(...sealEvents(record.events.at(-1) ?? null, bodies, made));
    onTaken(event, interpretation);
  });
  return { record, sound: result };
}
