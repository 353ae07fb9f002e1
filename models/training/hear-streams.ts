/**
 * What the whole path hears in streams (make_streams.py): segmenter, both decoders, listening again. One JSON line a
 * stream on standard output, to be scored by score-streams.ts as often as rules change:
 *
 *   npx tsx models/training/hear-streams.ts --models models --name shipped --share 0/1 --again 2 STREAMS > heard.jsonl
 *
 * --list FILE: names of streams in the order in which they are heard. --again N: listens again at least so often, more where the app would; with 0 just as the app does. Half a second to
 * two a call-out on one core.
 */
import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { listenAgain } from '../../src/asr/listen-again.ts';
import { readWav } from '../../src/audio/wav.ts';
import { hearSound } from '../../src/cli/hear-sound.ts';
import { openModels } from '../../src/lab/open-models.ts';
import type { Heard } from '../../src/core/interpret/interpretation.ts';
import { interpretListened } from '../../src/core/interpret/decide/listen-again.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    models: { type: 'string', default: 'models' },
    name: { type: 'string', default: 'shipped' },
    share: { type: 'string', default: '0/1' },
    again: { type: 'string', default: '0' },
    match: { type: 'string', default: '' },
    list: { type: 'string' },
  },
});
const [share, of] = values.share.split('/').map(Number) as [number, number];
const vocabulary = loadVocabulary();
const models = await openModels(values.models);
const context = { asking: false };

for (const folder of positionals) {
  const names = values.list
    ? (await readFile(values.list, 'utf8')).split('\n').filter(Boolean)
    : (await readdir(folder)).filter((name) => name.endsWith('.wav') && name.includes(values.match)).sort();
  for (const name of names.filter((_, k) => k % of === share)) {
    const sound = readWav(await readFile(join(folder, name)));
    const told = JSON.parse(await readFile(join(folder, name.replace(/\.wav$/, '.json')), 'utf8')) as object;
    const { heard, audioMs, computeMs } = await hearSound(models, sound);
    const utterances: object[] = [];
    for (const { onsetMs, endMs, cut, heard: first, samples } of heard) {
      const again: Heard[] = [];
      while (
        again.length < Number(values.again) ||
        interpretListened(first, again, context, vocabulary).more
      ) {
        const another = await listenAgain(models.recogniser, samples, first.speechMs, again.length);
        if (another === null) break;
        again.push(another);
      }
      utterances.push({ onsetMs, endMs, cut, heard: first, again });
    }
    const line = { model: values.name, name, ...told, audioMs, computeMs, utterances };
    process.stdout.write(`${JSON.stringify(line)}\n`);
  }
}
await models.recogniser.release();
