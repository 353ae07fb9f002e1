import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

const HOME = join(import.meta.dirname, '../..');

interface Bom {
  components: unknown[];
  [part: string]: unknown;
}

/** npm's own CycloneDX list of every package, with the model files added as what they are. */
export function billOfMaterials(): Bom {
  const npm = spawnSync('npm', ['sbom', '--sbom-format', 'cyclonedx'], {
    cwd: HOME,
    encoding: 'utf8',
    maxBuffer: 64 * 1024 * 1024,
    shell: process.platform === 'win32',
  });
  if (npm.status !== 0)
    throw new Error(`npm could not list the packages: ${npm.stderr.trim()} Nothing was written.`);
  const bom = JSON.parse(npm.stdout) as Bom;
  const { files } = JSON.parse(readFileSync(join(HOME, 'models/manifest.json'), 'utf8')) as {
    files: { path: string; sha256: string }[];
  };
  const models = files.map(({ path, sha256 }) => ({
    'bom-ref': `models/${path}`,
    type: path.endsWith('.onnx') ? 'machine-learning-model' : 'file',
    name: path,
    version: sha256.slice(0, 12),
    hashes: [{ alg: 'SHA-256', content: sha256 }],
    externalReferences: [],
  }));
  return { ...bom, components: [...bom.components, ...models] };
}

if (process.argv[1] === import.meta.filename) {
  try {
    console.log(JSON.stringify(billOfMaterials(), null, 2));
  } catch (error) {
    console.error((error as Error).message);
    process.exit(1);
  }
}
