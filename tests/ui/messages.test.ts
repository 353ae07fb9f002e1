import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { text } from '../../src/ui/messages/text.ts';

const ui = join(import.meta.dirname, '../../src/ui');
const components = readdirSync(ui, { recursive: true, encoding: 'utf8' }).filter((file) =>
  file.endsWith('.svelte'),
);

it('fills values in and chooses the plural', () => {
  expect(text('live.clocks.sinceHead')).toBe('since the head');
  expect(text('live.strip.logged', { time: '14:02' })).toBe('Logged 14:02');
  expect(text('live.question.title', { count: 1 })).toBe('One question');
  expect(text('live.question.title', { count: 3 })).toBe('3 questions');
});

/** Screens of a live record and what they are made of: the other messages are not there yet. */
const FIRST = /^(App\.svelte|live\/|common\/|desk\/(RecordGate|Unlock|PassphraseField|lock-sentences)\b)/;

it('the live record needs no message of a later screen', () => {
  const sources = readdirSync(ui, { recursive: true, encoding: 'utf8' }).filter(
    (file) => FIRST.test(file) && /\.(svelte|ts)$/.test(file),
  );
  expect(sources.length).toBeGreaterThan(30);
  const late = sources.filter((file) =>
    /['"`](desk|practice|settings)\.[a-z]/.test(readFileSync(join(ui, file), 'utf8')),
  );
  expect(late).toEqual([]);
});

it('finds components to look at', () => expect(components.length).toBeGreaterThan(10));

it.each(components)('%s holds no words of its own', (file) => {
  const markup = readFileSync(join(ui, file), 'utf8')
    .replace(/<script[\s\S]*?<\/script>/g, '')
    .replace(/<style[\s\S]*?<\/style>/g, '')
    .replace(/<!--[\s\S]*?-->/g, '');
  expect(wordsIn(markup)).toEqual([]);
});

/** Text outside tags and outside `{…}`, and text attributes that people read. */
function wordsIn(markup: string): string[] {
  let depth = 0;
  let outside = '';
  for (const character of markup) {
    if (character === '{') depth += 1;
    if (depth === 0) outside += character;
    if (character === '}') depth -= 1;
  }
  const attributes = [
    ...outside.matchAll(/\b(?:aria-label|title|placeholder|alt|label)="([^"]*[a-z]{2}[^"]*)"/gi),
  ];
  const between = outside.replace(/<(?:"[^"]*"|'[^']*'|[^<>"'])*>/g, ' ');
  return [...attributes.map((match) => match[1]!), ...(between.match(/[A-Za-z]{2,}/g) ?? [])];
}
