import { Listener } from '../asr/listener.ts';
import { samplesIn, SPEECH_RATE } from '../audio/resample.ts';
import { foldRecord } from '../core/log/fold.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { meaningInStandby, STANDING_BY, stepStandby, type Standby } from '../core/standby/standby.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { makeNoise, mixAt } from './noise.ts';
import { openModels } from './open-models.ts';
import { joined, needVoices, say, silence } from './say.ts';

/**
 * npm run standby -- HOURS [TALK_EVERY_SECONDS]: standby hears so many hours of pink noise, with a sentence of talk now
 * and then (0: none), as fast as it goes. Told each half hour of sound: processor time by the sound's length, memory,
 * what is held, and records begun, of which there must be none.
 */
const hours = Number(process.argv[2] ?? 8);
const everySeconds = Number(process.argv[3] ?? 60);
const TALK = [
  'could you plug the monitor back in for me',
  'push now with this one',
  'well done keep breathing',
];
const MINUTE_MS = 60_000;
const BLOCK_MS = 320;

needVoices();
const vocabulary = loadVocabulary();
const nothing = foldRecord({
  ...createRecordFile({ recordId: '', mode: 'real', wallMs: 0, createdAt: '', timeZone: 'UTC' }),
  events: [],
});
let state: Standby = STANDING_BY;
let heard = 0;
let starts = 0;
const listener = new Listener({
  ...(await openModels()),
  breathe: async () => {},
  early: true,
  tell: (event) => {
    if (event.kind !== 'heard') return;
    heard++;
    const utterance = { onsetMs: event.onsetMs, endMs: event.endMs, heard: event.heard };
    const meaning = meaningInStandby(utterance, nothing, vocabulary);
    state = stepStandby(state, { kind: 'heard', utterance, meaning }, event.endMs);
    if (state.kind === 'begun') [starts, state] = [starts + 1, STANDING_BY];
  },
});

/** A minute of sound, with talk from its beginning on where there is any. */
function minute(index: number): Float32Array {
  const length = samplesIn(MINUTE_MS);
  const noise = makeNoise('pink', length, index % 16);
  if (everySeconds === 0) return noise.map((value) => value * 0.002);
  const clip = say(TALK[index % TALK.length]!);
  const gap = Math.max(0, everySeconds * SPEECH_RATE - clip.length);
  const times = Math.max(1, Math.floor(60 / everySeconds));
  const said = joined(
    Array.from({ length: times }, () => joined([clip, silence((gap * 1000) / SPEECH_RATE)])),
  );
  const speech = joined([said, silence(MINUTE_MS)]).subarray(0, length);
  return mixAt(speech, noise, 25);
}
const minutes = Array.from({ length: 16 }, (_, index) => minute(index));

let cpu = process.cpuUsage();
for (let done = 1; done <= hours * 60; done++) {
  const sound = minutes[done % minutes.length]!;
  const block = samplesIn(BLOCK_MS);
  for (let at = 0; at < sound.length; at += block) {
    const atMs = (done - 1) * MINUTE_MS + (at * 1000) / SPEECH_RATE;
    listener.push({ atMs, sampleRate: SPEECH_RATE, samples: sound.slice(at, at + block) });
  }
  await listener.flush();
  state = stepStandby(state, { kind: 'tick' }, done * MINUTE_MS);
  if (done % 30 !== 0 && done !== hours * 60) continue;
  const { user, system } = process.cpuUsage(cpu);
  const share = (user + system) / 1000 / (((done % 30 || 30) * MINUTE_MS) / 100);
  globalThis.gc?.();
  console.log(
    `${(done / 60).toFixed(1)} h: ${share.toFixed(1)} % of one core, ${Math.round(process.memoryUsage().rss / 1e6)} MB, ${heard} utterances, ${state.held.length} held, ${starts} begun`,
  );
  cpu = process.cpuUsage();
}
