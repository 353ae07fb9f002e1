import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import { SPEECH_RATE } from '../audio/resample.ts';
import type { Entry } from '../core/entry.ts';
import { foldRecord } from '../core/log/fold.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { hearRecord } from '../cli/hear-record.ts';
import calls from './call-outs.json' with { type: 'json' };
import { activeRms, makeNoise } from './noise.ts';
import { openModels } from './open-models.ts';
import { impulseResponse, inRoom, type Room } from './room.ts';
import { joined, needVoices, say, silence, VOICES } from './say.ts';
import { score, type Score, type Trial } from '../cli/score.ts';

/**
 * npm run distance [-- --voices 2 --call-outs 24 --json FILE] — where to put the microphone, measured in simulation: call-outs
 * at 0.3, 1 and 3 m in a room of 6 × 5 × 3 m with a reverberation time of 0.6 s, in three states of noise. The
 * room's noise is the same everywhere; its level is given by the speech-to-noise ratio that a direct voice would
 * have at 1 m. A simulation ranks places; it does not promise these numbers for a real room.
 */
const ROOM: Omit<Room, 'microphone'> = {
  size: [6, 5, 3],
  reverberationSeconds: 0.6,
  talker: [2.1, 2.4, 1.5],
};
const DISTANCES_M = [0.3, 1, 3];
const NOISES = [
  { name: 'quiet room', kind: 'pink', ratioAt1mDb: 35 },
  { name: 'busy room', kind: 'babble', ratioAt1mDb: 15 },
  { name: 'loud room', kind: 'babble', ratioAt1mDb: 5 },
] as const;

const { values } = parseArgs({
  options: {
    voices: { type: 'string', default: '2' },
    'call-outs': { type: 'string', default: String(calls.callOuts.length) },
    json: { type: 'string' },
  },
});
needVoices();
const vocabulary = loadVocabulary();
const models = await openModels();
const voices = VOICES.slice(0, Number(values.voices));
const clips = voices.flatMap((voice) =>
  calls.callOuts.slice(0, Number(values['call-outs'])).map(({ text, entry }) => ({
    name: `${voice}: ${text}`,
    entry: entry as Entry,
    dry: joined([silence(600), say(text, voice), silence(1000)]),
  })),
);
const talkers = calls.talk.map((text, k) => say(text, VOICES[k % VOICES.length]));
const results: { distanceM: number; noise: string; score: Score }[] = [];

for (const distanceM of DISTANCES_M) {
  const microphone: Room['microphone'] = [ROOM.talker[0] + distanceM, ROOM.talker[1], ROOM.talker[2] - 0.05];
  const response = impulseResponse({ ...ROOM, microphone });
  const spoken = clips.map((clip) => ({ ...clip, wet: inRoom(clip.dry, response) }));
  for (const { name, kind, ratioAt1mDb } of NOISES) {
    const trials: Trial[] = [];
    for (const [k, { dry, wet, entry, name: clip }] of spoken.entries()) {
      // One lead of noise before the call-out, as a microphone that has listened for a while has.
      const lead = silence(4000);
      const sound = joined([lead, wet]);
      const noise = makeNoise(kind, sound.length, k + 1, talkers);
      const noiseRms = Math.sqrt(noise.reduce((sum, value) => sum + value * value, 0) / noise.length);
      const gain = activeRms(dry) / noiseRms / 10 ** (ratioAt1mDb / 20);
      const mixed = sound.map((value, at) => value + gain * noise[at]!);
      const loudest = mixed.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
      const samples = mixed.map((value) => (value * 0.5) / loudest);
      const heard = await hearRecord(models, { sampleRate: SPEECH_RATE, samples }, vocabulary, Date.now());
      const view = foldRecord(heard.record);
      trials.push({
        name: clip,
        audioMs: heard.sound.audioMs,
        expected: [{ entry }],
        accepted: view.entries.map((one) => ({ entry: one.entry })),
        asked: view.questions.flatMap(({ entries }) => entries),
      });
    }
    results.push({ distanceM, noise: name, score: score(trials) });
    process.stderr.write(`${distanceM} m, ${name}\n`);
  }
}

const percent = (value: number): string => `${Math.round(100 * value)} %`.padStart(6);
console.log(`| microphone at | room | right | asked | wrong | missed |\n|---|---|---|---|---|---|`);
for (const { distanceM, noise, score: one } of results) {
  const cells = [one.right, one.asked, one.wrong, one.missed].map((part) => percent(part.share));
  console.log(`| ${distanceM} m | ${noise} | ${cells.join(' | ')} |`);
}
console.log(
  `\n${clips.length} call-outs by ${voices.length} synthetic voices in each row; reverberation 0.6 s; speech-to-noise ratio at 1 m:`,
);
console.log(NOISES.map(({ name, ratioAt1mDb }) => `${name} ${ratioAt1mDb} dB`).join(', '));
if (values.json) await writeFile(values.json, `${JSON.stringify(results, null, 1)}\n`);
