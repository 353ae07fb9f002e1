import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';

const ROOT = join(import.meta.dirname, '../..');
/** Issuing bodies and standards, names of XML and JSON dialects, and addresses that cannot exist. */
const ALLOWED =
  /^(([\w-]+\.)*(hl7\.org|loinc\.org|unitsofmeasure\.org|w3\.org|json-schema\.org|doi\.org|rcog\.org\.uk|acog\.org|who\.int|ietf\.org|rfc-editor\.org|owasp\.org|cyclonedx\.org|spdx\.org|opensource\.org|creativecommons\.org|purl\.org|matplotlib\.org|example|invalid|test)|[\w.-]*\.(example|invalid|test)|[\w-]*\.example\.(com|org)|example\.(com|org)|localhost|127\.0\.0\.1|\d?\[?::1\]?|[\w-]+)$/;

const files = execFileSync(
  'git',
  ['ls-files', 'src', 'tests', 'models/reports', 'README.md', 'DEVELOPERS.md'],
  {
    cwd: ROOT,
    encoding: 'utf8',
  },
)
  .split('\n')
  .filter((file) => /\.(ts|svelte|json|md|txt|tsv|html|css|svg|py)$/.test(file));

const hostsIn = (text: string): string[] =>
  [...text.matchAll(/https?:\/\/([^\s/:"'`<>()\\$,;#?\u2026]+)/g)].map(([, host]) => host!.toLowerCase());

it('no address leads outside issuing bodies, standards and DOI', () => {
  expect(files.length).toBeGreaterThan(500);
  const found = files.flatMap((file) =>
    hostsIn(readFileSync(join(ROOT, file), 'utf8'))
      .filter((host) => !ALLOWED.test(host))
      .map((host) => `${file}: ${host}`),
  );
  expect(found).toEqual([]);
});

it('would find a mirror', () => {
  const address = ['https:/', 'mirror.somewhere.net', 'paper'].join('/');
  expect(hostsIn(`see ${address}`).filter((host) => !ALLOWED.test(host))).toEqual(['mirror.somewhere.net']);
});
