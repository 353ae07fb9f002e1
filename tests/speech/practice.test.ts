import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { OggOpusDecoder } from 'ogg-opus-decoder';
import { beforeAll, describe, expect, test } from 'vitest';
import { readWav, type Sound } from '../../src/audio/wav.ts';
import { hearSound } from '../../src/cli/hear-sound.ts';
import { openModels } from '../../src/lab/open-models.ts';
import { sealEvents } from '../../src/core/log/chain.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { takeIn } from '../../src/core/dialogue/take-in.ts';
import { BUNDLED_SCENARIOS } from '../../src/packs/scenarios.ts';
import type { Debrief } from '../../src/core/practice/debrief-types.ts';
import { debrief } from '../../src/core/practice/debrief.ts';
import { newDrill, playedDrill } from '../../src/core/practice/drill.ts';
import type { Scenario } from '../../src/core/practice/scenario.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { practiceRecord } from '../core/practice/drill-record.ts';
import known from './practice-known-failures.json' with { type: 'json' };

/** The bundled recordings through segmenter, speech model, interpreter and log: what the debrief then says. */
const vocabulary = loadVocabulary();
const FOLDER = join(import.meta.dirname, '../../static/practice');
/** What happens in a script and is never called out. */
const NEVER_SAID: Record<string, string[]> = {
  'first-manoeuvre': ['cry'],
  'side-corrected': ['pressure-off'],
};

async function recordingOf(scenario: Scenario): Promise<Sound> {
  const bytes = new Uint8Array(await readFile(join(FOLDER, scenario.recording!)));
  if (scenario.recording!.endsWith('.wav')) return readWav(bytes);
  const decoder = new OggOpusDecoder();
  await decoder.ready;
  const { channelData, sampleRate } = await decoder.decodeFile(bytes);
  decoder.free();
  return { sampleRate, samples: channelData[0]! };
}

let models: Awaited<ReturnType<typeof openModels>>;
beforeAll(async () => (models = await openModels()));

async function debriefOf(scenario: Scenario): Promise<Debrief> {
  let file = practiceRecord([]);
  let names = 0;
  await hearSound(models, await recordingOf(scenario), ({ onsetMs, endMs, heard }) => {
    const newId = () => `n${names++}`;
    const { bodies } = takeIn({ onsetMs, endMs, heard }, foldRecord(file), vocabulary, newId);
    const made = { by: { kind: 'voice' } as const, madeAtMs: endMs, madeAt: file.createdAt };
    file = { ...file, events: [...file.events, ...sealEvents(file.events.at(-1)!, bodies, made)] };
  });
  const { recordId, createdAt: startedAt } = file;
  const drill = newDrill({ recordId, way: 'recording', scenario, startedAt });
  return debrief(playedDrill(drill, scenario, 0), foldRecord(file), vocabulary);
}

describe.each(BUNDLED_SCENARIOS.map((scenario) => [scenario.id, scenario] as const))('%s', (id, scenario) => {
  let result: Debrief;
  beforeAll(async () => (result = await debriefOf(scenario)));
  const said = new Map(
    scenario.lines.flatMap((line) => (line.says ?? []).map((event) => [event, line.atMs])),
  );

  test('every call-out stands in the record, but for the known failures', () => {
    const lost = result.events.filter(({ status }) => status === 'missing' || status === 'wrong');
    const told = lost.map(({ id, cause, spoken, heard }) => ({ id, cause, spoken, heard }));
    const expected = [...(NEVER_SAID[id] ?? []), ...known[id as keyof typeof known]];
    const beyond = lost.map((event) => event.id).filter((event) => !expected.includes(event));
    expect(beyond, JSON.stringify(told, null, 1)).toEqual([]);
  });

  test('what nobody said is told apart from what was misheard', () => {
    const notSaid = result.events.filter(({ cause }) => cause === 'not-said').map((event) => event.id);
    expect(notSaid).toEqual(NEVER_SAID[id] ?? []);
    expect(result.saidAloud).toEqual({ count: said.size, of: scenario.truth.length });
  });

  test('nothing that did not happen stands in the record', () => {
    expect(result.extras.filter(({ kind }) => kind === 'unexpected')).toEqual([]);
  });

  test('each entry is timed within half a second of the onset of its words, or of the time they tell', () => {
    for (const { id: event, recorded } of result.events) {
      if (!recorded || recorded.timing !== 'heard' || recorded.corrected) continue;
      expect(Math.abs(recorded.atMs - said.get(event)!), event).toBeLessThan(500);
    }
  });

  test('head to body is within a second of the truth', () => {
    expect(Math.abs(result.headToBody.errorMs!)).toBeLessThan(1000);
  });
});
