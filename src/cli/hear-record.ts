import { randomUUID } from 'node:crypto';
import { listenAgain } from '../asr/listen-again.ts';
import type { Recogniser } from '../asr/recogniser.ts';
import type { SpeechProbability } from '../asr/silero.ts';
import type { Sound } from '../audio/wav.ts';
import type { Heard } from '../core/interpret/interpretation.ts';
import { sealEvents } from '../core/log/chain.ts';
import type { RecordFile } from '../core/log/events.ts';
import { foldRecord } from '../core/log/fold.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { takeIn, worthAgain, type Understood } from '../core/dialogue/take-in.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { hearSound, type HeardEvent, type HeardSound } from './hear-sound.ts';

/**
 * A recording → the record that results, as the running app would keep it. Record time 0 is the recording's
 * first sample; the record's wall clock begins at `wallMs`. Nothing hurries here: whatever is unsure is listened to
 * again, as in the app where nobody speaks on.
 */
export async function hearRecord(
  models: { recogniser: Recogniser; newSpeechProbability: () => SpeechProbability },
  sound: Sound,
  vocabulary: Vocabulary,
  wallMs: number,
  onTaken: (event: HeardEvent, understood: Understood) => void = () => {},
): Promise<{ record: RecordFile; sound: HeardSound }> {
  const record = createRecordFile({
    recordId: randomUUID(),
    mode: 'real',
    wallMs,
    createdAt: new Date(wallMs).toISOString(),
    timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
  });
  const result = await hearSound(models, sound);
  const begun = performance.now();
  for (const event of result.heard) {
    const { onsetMs, endMs, heard, samples } = event;
    const view = foldRecord(record);
    const utterance = { onsetMs, endMs, heard, again: [] as Heard[] };
    while (worthAgain(utterance, view, vocabulary)) {
      const timesBefore = utterance.again.length;
      const another = await listenAgain(models.recogniser, samples, heard.speechMs, timesBefore);
      if (another === null) break;
      utterance.again.push(another);
    }
    const { bodies, ...understood } = takeIn(utterance, view, vocabulary, randomUUID);
    if (understood.fault !== undefined) console.error(understood.fault);
    const madeAt = new Date(wallMs + endMs).toISOString();
    const made = { by: { kind: 'voice' }, madeAtMs: endMs, madeAt } as const;
    record.events.push(...sealEvents(record.events.at(-1) ?? null, bodies, made));
    onTaken(event, understood);
  }
  result.computeMs += Math.round(performance.now() - begun);
  return { record, sound: result };
}
