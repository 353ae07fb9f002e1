import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fieldPage } from '../core/record/field-page.ts';
import { withSlots } from '../core/record/record-schema.ts';

/** Writes what slots.json says of entries into static/utterlog-record.schema.json, and the page of its fields. */
const ROOT = join(import.meta.dirname, '../..');
const FILE = join(ROOT, 'static/utterlog-record.schema.json');
const schema = withSlots(JSON.parse(readFileSync(FILE, 'utf8')));
writeFileSync(FILE, `${JSON.stringify(schema, null, 2)}\n`);
writeFileSync(join(ROOT, 'src/core/record/FIELDS.md'), fieldPage(schema));
