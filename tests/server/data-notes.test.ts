import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { withoutDataNotes } from '../../src/build/data-notes.ts';

const src = join(import.meta.dirname, '../../src');
const transform = withoutDataNotes().transform as (code: string, id: string) => { code: string } | null;
const built = (id: string, data: unknown): unknown => {
  const made = transform(JSON.stringify(data), id);
  return made === null ? data : JSON.parse(made.code);
};

it('drops what is said to readers, and nothing that is shown or weighed', () => {
  const data = { source: 'a book', why: 'because', rule: 1, rows: [{ why: 'so', source: 'shown', of: 2 }] };
  expect(built('/app/src/core/x.json', data)).toEqual({ rule: 1, rows: [{ source: 'shown', of: 2 }] });
  expect(built('/app/src/core/x.json', { swaps: { why: ['way'] } })).toEqual({ swaps: { why: ['way'] } });
  expect(built('/app/src/ui/messages/en.json', data)).toEqual(data);
  expect(built('/app/node_modules/y/x.json', data)).toEqual(data);
});

it('every data file of the app stays what it is otherwise', () => {
  const files = readdirSync(src, { recursive: true, encoding: 'utf8' });
  const data = files.filter((file) => file.endsWith('.json'));
  expect(data.length).toBeGreaterThan(30);
  for (const file of data) {
    const all = JSON.parse(readFileSync(join(src, file), 'utf8')) as object;
    const kept = built(join(src, file), all) as object;
    expect(Array.isArray(kept)).toBe(Array.isArray(all));
    expect(Object.keys(all).filter((key) => !(key in kept) && key !== 'source' && key !== 'why')).toEqual([]);
  }
});
