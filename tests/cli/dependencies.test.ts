import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { noticeText, shippedPackages } from '../../src/cli/notice.ts';
import { billOfMaterials } from '../../src/cli/sbom.ts';

const HOME = join(import.meta.dirname, '../..');
const read = (name: string) => readFileSync(join(HOME, name), 'utf8');

test('NOTICE is the one that `npm run notice` makes now', () => {
  expect(read('NOTICE') === noticeText(), 'run `npm run notice` and commit NOTICE').toBe(true);
});

test('every dependency of package.json is in NOTICE, and every shipped licence fits', () => {
  const { dependencies } = JSON.parse(read('package.json')) as { dependencies: Record<string, string> };
  const names = shippedPackages().map(({ name }) => name);
  for (const [name, version] of Object.entries(dependencies))
    if (!version.startsWith('file:')) expect(names).toContain(name);
});

test('the bill of materials is CycloneDX and names packages and model files with their hashes', () => {
  const bom = billOfMaterials() as { components: { name: string; type: string; hashes?: unknown[] }[] };
  expect(bom).toMatchObject({ bomFormat: 'CycloneDX', specVersion: '1.5' });
  const names = bom.components.map(({ name }) => name);
  expect(names).toContain('onnxruntime-web');
  const models = bom.components.filter(({ type }) => type === 'machine-learning-model');
  expect(models.length).toBeGreaterThanOrEqual(2);
  for (const { hashes } of models) expect(hashes).toHaveLength(1);
}, 60_000);
