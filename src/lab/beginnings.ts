import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { listenAgain } from '../asr/listen-again.ts';
import { makeResampler } from '../audio/resample.ts';
import { readWav } from '../audio/wav.ts';
import { hearSound } from '../cli/hear-sound.ts';
import { worthAgain } from '../core/dialogue/take-in.ts';
import type { Heard } from '../core/interpret/interpretation.ts';
import { foldRecord } from '../core/log/fold.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import { begins, meaningInStandby } from '../core/standby/standby.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import calls from './call-outs.json' with { type: 'json' };
import { makeNoise, mixAt } from './noise.ts';
import { openModels } from './open-models.ts';
import { joined, needVoices, say, silence, VOICES } from './say.ts';

/**
 * npm run beginnings: spoken beginnings of a record in standby, through segmenter, model and interpreter. Ten
 * wordings in ten synthetic voices, in quiet and in babble at 10 dB; each is said once and must begin a record.
 */
const WORDINGS = [
  'head delivered',
  'head is out',
  "the head's out",
  'head is delivered',
  'shoulder dystocia',
  'this is a shoulder dystocia',
  'we have a shoulder dystocia',
  "i'm calling a shoulder dystocia",
  'head is born',
  'begin',
];
const OTHER_ENGINE = ['slt', 'rms', 'awb', 'kal16'];
const QUIET_MS = 1500;

function flite(text: string, voice: string): Float32Array {
  const folder = mkdtempSync(join(tmpdir(), 'flite-'));
  try {
    const file = join(folder, 'said.wav');
    execFileSync('flite', ['-voice', voice, '-t', text, '-o', file]);
    const { sampleRate, samples } = readWav(readFileSync(file));
    const resampler = makeResampler(sampleRate);
    return joined([resampler.push(samples), resampler.flush()]);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

needVoices();
const speakers: [string, (text: string) => Float32Array][] = [
  ...VOICES.map((voice): [string, (text: string) => Float32Array] => [voice, (text) => say(text, voice)]),
  ...OTHER_ENGINE.map((voice): [string, (text: string) => Float32Array] => [
    `flite ${voice}`,
    (text) => flite(text, voice),
  ]),
];
const vocabulary = loadVocabulary();
const nothing = foldRecord({
  ...createRecordFile({ recordId: '', mode: 'real', wallMs: 0, createdAt: '', timeZone: 'UTC' }),
  events: [],
});
const models = await openModels();
const babbleVoices = calls.callOuts.slice(0, 12).map(({ text }, k) => say(text, VOICES[k % VOICES.length]));

for (const condition of ['quiet', 'babble at 10 dB']) {
  const missed: string[] = [];
  let tried = 0;
  for (const [name, speak] of speakers) {
    for (const text of WORDINGS) {
      const clean = joined([silence(QUIET_MS), speak(text), silence(QUIET_MS)]);
      const noise = makeNoise(condition === 'quiet' ? 'pink' : 'babble', clean.length, ++tried, babbleVoices);
      const samples = mixAt(clean, noise, condition === 'quiet' ? 40 : 10);
      const { heard } = await hearSound(models, { sampleRate: 16_000, samples });
      let begun = false;
      const second: string[] = [];
      for (const event of heard) {
        const utterance = {
          onsetMs: event.onsetMs,
          endMs: event.endMs,
          heard: event.heard,
          again: [] as Heard[],
        };
        while (worthAgain(utterance, nothing, vocabulary)) {
          const { samples: sound, heard: first } = event;
          const other = await listenAgain(models.recogniser, sound, first.speechMs, utterance.again.length);
          if (other === null) break;
          utterance.again.push(other);
          second.push(`“${other.tuned.text}”`);
        }
        begun ||= begins(meaningInStandby(utterance, nothing, vocabulary));
      }
      if (!begun)
        missed.push(
          `${name}: “${text}” heard as ${heard.map((one) => `“${one.heard.tuned.text}”`).join(', ') || 'nothing'}${second.length > 0 ? `, again as ${second.join(', ')}` : ''}`,
        );
    }
  }
  console.log(`${condition}: ${tried - missed.length} of ${tried} began a record`);
  for (const one of missed) console.log(`  missed ${one}`);
}
