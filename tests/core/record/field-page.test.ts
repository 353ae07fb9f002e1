import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { fieldPage } from '../../../src/core/record/field-page.ts';
import notes from '../../../src/core/record/field-notes.json' with { type: 'json' };
import schema from '../../../static/utterlog-record.schema.json' with { type: 'json' };

const page = fieldPage(schema);

it('tells of every field of the schema, as npm run schema wrote it', () => {
  expect(readFileSync(join(import.meta.dirname, '../../../src/core/record/FIELDS.md'), 'utf8')).toBe(page);
  expect(page.split('\n').filter((line) => line.startsWith('| `')).length).toBeGreaterThan(400);
});

it('refuses a field without a note, and keeps no note without a field', () => {
  const invented = { ...schema, properties: { ...schema.properties, inventedField: { type: 'string' } } };
  expect(() => fieldPage(invented)).toThrow('inventedField has no note');
  const unused = Object.keys(notes).filter((name) => !page.includes(`${name}\``));
  expect(unused).toEqual([]);
});
