import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import messages from '../src/ui/messages/en.json';
import claims from './claims.json';

// A sentence that promises something of storing, sending, deleting or secrecy names the test that holds it. Which
// sentences promise is found by their words, so that a new one without a proof fails here.
const HOME = join(import.meta.dirname, '..');
const PROMISES =
  /\b(encrypt|never|leaves (this|the) device|is lost|keeps nothing|(deleted?|goes)\b.*\bfor good|tamper|in the clear|stays? readable|without a network|(is|are) kept on this device|not encrypted|final|destroyed|was erased|erase everything\.|lies sealed|not signed by|was not locked|is still there|no sound is kept|may still be there)\b/i;
/** Sentences with such a word that promise nothing of the kind, or that the tool's whole tests hold. */
const NO_PROMISE = new Set([
  'start.cautions.device',
  'settings.offline.title',
  'settings.erase.title',
  'settings.erase.button',
  'settings.erase.word',
  'desk.record.offsetHint',
  'practice.debrief.misheard',
  'practice.card.measuredNote',
  'live.share.offline',
]);

function* sentences(part: object, place = ''): Generator<[string, string]> {
  for (const [name, value] of Object.entries(part) as [string, unknown][]) {
    const there = place === '' ? name : `${place}.${name}`;
    if (typeof value === 'string') yield [there.replace(/\.(one|other)$/, ''), value];
    else if (typeof value === 'object' && value !== null) yield* sentences(value, there);
  }
}
const proofs: Record<string, readonly string[]> = claims;

test('every sentence on a screen that promises names its proof', () => {
  const promising = [...sentences(messages)].filter(([, words]) => PROMISES.test(words));
  expect(promising.length).toBeGreaterThan(20);
  const without = promising.filter(([place]) => !NO_PROMISE.has(place) && proofs[place] === undefined);
  expect(without.map(([place, words]) => `${place}: ${words}`)).toEqual([]);
});

test('every proof is a test that is there, of a sentence that is there', () => {
  const places = new Set([...sentences(messages)].map(([place]) => place));
  for (const [place, files] of Object.entries(proofs)) {
    expect(places, place).toContain(place);
    expect(files.length, place).toBeGreaterThan(0);
    for (const file of files)
      expect(readFileSync(join(HOME, file), 'utf8'), `${place}: ${file}`).toMatch(/\bexpect\(/);
  }
});

test('what README, SECURITY.md and DEVELOPERS.md name as proof is there; who is kept out names one each', () => {
  for (const page of ['README.md', 'SECURITY.md', 'DEVELOPERS.md']) {
    const words = readFileSync(join(HOME, page), 'utf8');
    const named = [...words.matchAll(/`(tests\/[\w./-]+\.\w+)`/g)].map(([, file]) => file!);
    for (const file of named) expect(existsSync(join(HOME, file)), `${page}: ${file}`).toBe(true);
  }
  const security = readFileSync(join(HOME, 'SECURITY.md'), 'utf8');
  const out = security.split('## Who is kept out')[1]!.split('\n## ')[0]!;
  const points = out.split('\n').filter((line) => line.startsWith('- '));
  expect(points.length).toBeGreaterThan(3);
  for (const point of points) expect(point, point.slice(0, 60)).toMatch(/`tests\/[\w./-]+\.ts`/);
});
