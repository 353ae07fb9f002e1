import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Manifest } from '../asr/model-files.ts';

/**
 * Writes models/manifest.json: size and SHA-256 of every file that the app loads to hear.
 * Run it after a new model was exported: `npm run manifest`.
 */
const folder = join(import.meta.dirname, '../../models');
const paths = [
  'silero-vad/silero_vad_v6_16k.onnx',
  'callout-tiny/model.json',
  'callout-tiny/preprocessor_config.json',
  'callout-tiny/tokenizer.json',
  'callout-tiny/hearing.onnx',
  'callout-tiny/decoding.onnx',
];
const manifest: Manifest = {
  format: 'utterlog-models',
  files: paths.map((path) => {
    const bytes = readFileSync(join(folder, path));
    return { path, bytes: bytes.length, sha256: createHash('sha256').update(bytes).digest('hex') };
  }),
};
writeFileSync(join(folder, 'manifest.json'), JSON.stringify(manifest, null, 2) + '\n');
console.log(
  `${manifest.files.length} files, ${manifest.files.reduce((sum, file) => sum + file.bytes, 0)} bytes`,
);
